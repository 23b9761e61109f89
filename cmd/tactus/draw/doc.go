// Package draw shows a running show in a terminal: the stage as the hall sees
// it, and below it the song as a score with a play head.
//
//	Lanterns on the Pier · chorus 2, bar 3 beat 1 · 96.0 BPM · midi locked
//	playing ● ○ ○ ○ · energy 8 · then bridge in 2 bars          song 1 of 3
//	┌ stage ─────────────────────────────────────┐
//	│   1    2    3    4    heads by their place │  light adds up as light does
//	│  ▀▀▀  ▀▀▀  ▀▀▀  ▀▀▀   nearer trusses higher│
//	└────────────────────────────────────────────┘
//	front ▆▆ 62 %   house ▆ 20 %   haze 35 %          what songs leave alone
//	wash 80 % blue   warmer 40 % amber                the same in words
//	  ╷       ▼       ╷                               cues and play head
//	▃▃▃▃ ▅▅▅▅▅▅▅▅ ▇▇▇▇▇▇▇▇▇▇ ▅▅▅▅▅▅▅▅                 sections to scale, energy as height
//	intro verse 1  chorus 1   verse 2
//	1,234 frames, none missed, …                      health
//
// A Drawing is a function of snapshots: it reads no clock and does no I/O. Frame
// draws a whole screen, Plain a line of text for pipes and small windows.
// Nothing is told by colour alone.
//
// Sources: IEC 61966-2-1 for the encoding of light (sRGB); ECMA-48 for control
// sequences, 8.3.117 (SGR), 8.3.21 (CUP), 8.3.41 (EL); true colour, the
// alternate screen and synchronized output are common practice, no source;
// no-color.org for NO_COLOR. The clauses are from memory.
package draw
