// Package standby connects two computers that play the same show, so that one takes
// over when the other is lost. One is the leader and listens, the other is the standby
// and dials. At any time one of the two is on the lamps: its light counts. The other
// follows: it replays what the first records, and sends the same frames where they do
// not count.
//
//	on the lamps                                        follows
//	loop ─► records ─► Pair ─► link ══ TLS over TCP ══► link ─► Pair ─► loop
//	                              ◄══ state, every 50 ms ══
//
// Who is on the lamps is decided by turns, a number that grows when the lamps change
// hands:
//
//	the one on the lamps is lost   no frame for 150 ms, or the connection is refused:
//	                               the other goes on with a greater turn. A side that was
//	                               well when it was taken for lost waits twice as long for
//	                               the other, up to 1.2 s, until 60 s have passed without
//	                               a change and without a wait of 150 ms for a frame
//	told to change over            Yours is sent after a frame: likewise
//	two are on the lamps           after a cut: the one with the greater turn stays
//
// Nothing changes hands in any other case: a leader that comes back follows.
//
// How a side stands in sACN, in steps from the show's priority (ANSI E1.31-2018, 6.2.3):
//
//	             on the lamps   follows
//	leader                  0         0
//	standby                +1        -1
//
// One that takes over from a side that is lost goes one step above it, because that
// may still be sending.
package standby
