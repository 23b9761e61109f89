// Package panel serves a page that shows the light and has the few controls that a
// night needs.
//
//	browser ◄── server-sent events ── stream ◄── engine.Snapshot (a copy, 30 a second)
//	   │                                                   ▲ the loop never waits
//	   └── POST /api/v1/ask/... ──► commands.Address ─► Ask ─┴─► engine.Loop
//
// Light never waits for a browser. One goroutine reads the loop's copy of a frame
// and encodes it once. Each connection sends the newest message when it can, and is
// closed when it stalls.
//
// openapi.yaml describes the whole interface: a command-line client can do whatever
// the page does.
//
// The page draws the stage from the rig's positions in metres and the light of a
// moment:
//
//	stage-space.js  where heads hang and point, and how the hall sees them
//	stage-light.js  what a head adds to floor, wall and haze; sums are clipped so that hue stays
//	stage-gl.js     adds up the light with WebGL2: a quad for each lit head, in half floats, at few pixels
//	stage-cells.js  without a graphics card: a sum of products over a coarse grid
//	stage.js        draws lenses in their exact colours, trusses, a band and names on top, when something changed
//
// Sources: WHATWG HTML, 9.2 "Server-sent events"; WCAG 2.2.
package panel
