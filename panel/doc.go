// Package panel is the page that shows what the light does and gives the few
// controls that a night needs.
//
//	browser ◄── server-sent events ── stream ◄── engine.Snapshot (a copy, 30 a second)
//	   │                                                   ▲ never waited for
//	   └── POST /api/v1/ask/... ──► commands.Address ─► Ask ─┴─► engine.Loop
//
// Light never waits for a browser: one goroutine looks at the loop's copy of a
// frame and writes it out once, each connection sends what is newest when it can,
// and one that stands still is let go.
//
// The whole interface is described in openapi.yaml: whatever the page does can be
// done with a command-line client.
//
// How the page draws the stage, from the rig's metres and a moment's light:
//
//	stage-space.js  where heads hang and point, and how the hall sees them
//	stage-light.js  what a head adds to floor, wall and haze; sums are clipped so that hue stays
//	stage-gl.js     adds that up with WebGL2: a quad a lit head, in half floats, at few pixels
//	stage-cells.js  or without a graphics card: a sum of products over a coarse grid
//	stage.js        draws lenses in their exact colours, trusses, a band and names over it, when something changed
//
// Sources: WHATWG HTML, 9.2 "Server-sent events"; WCAG 2.2.
package panel
