package clock

// The models of tempos that move, and of clocks that break. All are common
// practice, no source.

// heldHumans: tempos that a person plays, and that a program draws.
var heldHumans = []heldModel{
	// A drummer leads a good box: 0.3 % each way over eight bars.
	{name: "swing 0.3 % over 8 bars, quiet", make: heldHuman(120, 0.003, 8)},
	// A freer one.
	{name: "swing 1 % over 4 bars, quiet", make: heldHuman(96, 0.01, 4)},
	// The same through a busy machine.
	{name: "swing 0.5 % over 8 bars, half-normal 1 ms", make: heldHuman(128, 0.005, 8, heldNoise(halfNormal(Millisecond)))},
	// A slow sway with much jitter.
	{name: "swing 0.2 % over 16 bars, half-normal 5 ms", make: heldHuman(110, 0.002, 16, heldNoise(halfNormal(5*Millisecond)))},
	// A person leads a program with a common buffer.
	{name: "swing 0.5 % over 8 bars, buffer up 512 at 48", make: heldHuman(118, 0.005, 8, heldCeil(512, 48))},
	// A person leads a program with a large buffer.
	{name: "swing 1 % over 8 bars, buffer down 1024 at 44.1", make: heldHuman(124, 0.01, 8, heldFloor(1024, 44.1))},
	// A program that follows a person's beat, step by step.
	{name: "walk 0.3 %, 4 bars, quiet", make: heldWalk(120, 0.003, 4)},
	// The same with jitter.
	{name: "walk 0.5 %, 8 bars, exponential 1 ms", make: heldWalk(104, 0.005, 8, heldNoise(exponential(Millisecond)))},
	// The same over radio and USB.
	{name: "walk 0.3 %, 8 bars, radio 11.25 ms, USB", make: heldWalk(132, 0.003, 8, heldPoll(11.25), heldPoll(1))},
	// The same with a coarse timer.
	{name: "walk 1 %, 16 bars, timer 10 ms down", make: heldWalk(88, 0.01, 16, heldTimer(10, heldDown))},
	// A song that gets faster.
	{name: "ramp +6 BPM a minute, quiet", make: heldRamp(120, 6)},
	// The same with jitter.
	{name: "ramp +12 BPM a minute, half-normal 2 ms", make: heldRamp(100, 12, heldNoise(halfNormal(2*Millisecond)))},
	// A song that gets slower through a buffer.
	{name: "ramp -10 BPM a minute, buffer up 480 at 48", make: heldRamp(140, -10, heldCeil(480, 48))},
	// A quick build.
	{name: "ramp +40 BPM a minute, half-normal 1 ms", make: heldRamp(90, 40, heldNoise(halfNormal(Millisecond)))},
	// A quick fall with errors both ways.
	{name: "ramp -25 BPM a minute, Gauss 1.5 ms", make: heldRamp(150, -25, heldFree(heldGauss(1500*Microsecond)))},
	// The end of a song, played out.
	{name: "slowing 120 to 60 in 2 bars, quiet", make: heldSlowing(120, 60, 2)},
	// The same, with jitter.
	{name: "slowing 110 to 70 in 4 bars, half-normal 1 ms", make: heldSlowing(110, 70, 4, heldNoise(halfNormal(Millisecond)))},
	// The same, through a buffer.
	{name: "slowing 126 to 80 in 4 bars, buffer up 512 at 44.1", make: heldSlowing(126, 80, 4, heldCeil(512, 44.1))},
	// Somebody nudges the tempo.
	{name: "steps of 3 BPM, quiet", make: heldSteps([]float64{120, 123, 126, 123, 120})},
	// The same with jitter.
	{name: "steps of 3 BPM, half-normal 2 ms", make: heldSteps([]float64{117, 120, 117, 114, 117}, heldNoise(halfNormal(2*Millisecond)))},
	// The next song comes up at its own tempo.
	{name: "steps of 10 BPM, quiet", make: heldSteps([]float64{110, 120, 110, 100})},
	// The same with jitter.
	{name: "steps of 8 BPM, exponential 1 ms", make: heldSteps([]float64{124, 132, 124, 116}, heldNoise(exponential(Millisecond)))},
	// The same through a buffer.
	{name: "steps of 5 BPM, buffer up 512 at 48", make: heldSteps([]float64{120, 125, 130, 125}, heldCeil(512, 48))},
	// The same through a large buffer.
	{name: "steps of 20 BPM, buffer down 1024 at 48", make: heldSteps([]float64{100, 120, 140, 120}, heldFloor(1024, 48))},
	// Half a set's span at once.
	{name: "steps of 40 BPM, quiet", make: heldSteps([]float64{100, 140, 100, 140})},
	// The same with jitter.
	{name: "steps of 40 BPM, half-normal 1 ms", make: heldSteps([]float64{134, 174, 134, 94}, heldNoise(halfNormal(Millisecond)))},
	// Steps over radio.
	{name: "steps of 15 BPM, radio 15 ms, USB", make: heldSteps([]float64{90, 105, 120, 105}, heldPoll(15), heldPoll(1))},
}

// heldBreaks: stalls, slips, and ticks that are lost or doubled.
var heldBreaks = []heldModel{
	// Something on the machine wakes up each second and takes 10 ms.
	{name: "stall 10 ms each second, half-normal 0.5 ms", make: heldConstant(120, heldNoise(halfNormal(Millisecond/2)), heldStall(10*Millisecond, 10*Millisecond, Second, true))},
	// A longer one, at a tempo whose beat is a second.
	{name: "stall 40 ms each second, 60 BPM", make: heldConstant(60, heldNoise(halfNormal(Millisecond/2)), heldStall(40*Millisecond, 40*Millisecond, Second, true))},
	// Wi-Fi looks for other stations each 10 s.
	{name: "stall 120 ms each 10 s, exponential 1 ms", make: heldConstant(123, heldNoise(exponential(Millisecond)), heldStall(120*Millisecond, 120*Millisecond, 10*Second, true))},
	// Stalls of any length at any time.
	{name: "stall 5 to 80 ms, 2 s apart, quiet", make: heldConstant(128, heldStall(5*Millisecond, 80*Millisecond, 2*Second, false))},
	// Longer and rarer, with jitter.
	{name: "stall 50 to 400 ms, 5 s apart, half-normal 2 ms", make: heldConstant(112, heldNoise(halfNormal(2*Millisecond)), heldStall(50*Millisecond, 400*Millisecond, 5*Second, false))},
	// Stalls on top of a buffer.
	{name: "stall 20 to 150 ms, 3 s apart, buffer up 512 at 48", make: heldConstant(119, heldCeil(512, 48), heldStall(20*Millisecond, 150*Millisecond, 3*Second, false))},
	// A sender that hangs and then sends all it owes, down a cable.
	{name: "hang 0.1 to 0.5 s, 15 s apart, wire", make: heldConstant(120, heldStall(100*Millisecond, 500*Millisecond, 15*Second, false), heldWire(320*Microsecond))},
	// The same for up to two seconds.
	{name: "hang 1 to 2 s, 20 s apart, half-normal 1 ms", make: heldConstant(106, heldStall(Second, 2*Second, 20*Second, false), heldNoise(halfNormal(Millisecond)))},
	// A sender that hangs with a buffer.
	{name: "hang 0.3 to 1 s, 15 s apart, buffer down 480 at 48", make: heldConstant(130, heldStall(300*Millisecond, Second, 15*Second, false), heldFloor(480, 48))},
	// Wi-Fi: packets wait a little each, and overtake.
	{name: "Wi-Fi, log-normal 2 ms, 0.8, overtaking", make: heldConstant(120, heldFree(heldLogNormal(2*Millisecond, 0.8)))},
	// Wi-Fi in a full hall: spells in which all wait for the next beacon.
	{name: "Wi-Fi, spells of beacons 102.4 ms", make: heldConstant(115, heldNoise(exponential(Millisecond)), heldSome(48, 0.1, heldPoll(102.4)))},
	// Wi-Fi that sends several packets at a time, all through.
	{name: "Wi-Fi, batches each 25.6 ms + 1 ms", make: heldConstant(127, heldPoll(25.6), heldNoise(exponential(Millisecond)))},
	// Wi-Fi between quick and slow, with short stalls.
	{name: "Wi-Fi, bursty with stalls of 30 to 120 ms", make: heldConstant(122, heldNoise(bursty), heldStall(30*Millisecond, 120*Millisecond, 2*Second, false))},
	// Two threads stamp: a stamp may lie a little before the one before.
	{name: "5 % of stamps back by up to 0.5 ms", back: true, make: heldBack(120, 0.05, Millisecond/2, heldNoise(halfNormal(Millisecond)))},
	// The same, rarer and further, on a quiet clock.
	{name: "1 % of stamps back by up to 3 ms, quiet", back: true, make: heldBack(98, 0.01, 3*Millisecond)},
	// The sound card missed one buffer.
	{name: "slip 5.33 ms once, buffer up 256 at 48", make: heldSlips(120, 256/48., 1, heldCeil(256, 48))},
	// It misses one now and then.
	{name: "slip 5 ms four times, quiet", make: heldSlips(126, 5, 4)},
	// The same with jitter.
	{name: "slip 8 ms three times, half-normal 1 ms", make: heldSlips(116, 8, 3, heldNoise(halfNormal(Millisecond)))},
	// A larger buffer missed.
	{name: "slip 11.6 ms twice, buffer down 512 at 44.1", make: heldSlips(90, 512/44.1, 2, heldFloor(512, 44.1))},
	// Nearly a tick.
	{name: "slip 20 ms twice, half-normal 0.5 ms", make: heldSlips(100, 20, 2, heldNoise(halfNormal(Millisecond/2)))},
	// Nearly a tick of a slow song.
	{name: "slip 40 ms once, quiet, 60 BPM", make: heldSlips(60, 40, 1)},
	// A cable with a bad plug.
	{name: "lost 0.2 %, quiet", make: heldFaults(120, 1, 0.002, 0)},
	// A worse one.
	{name: "lost 1 %, half-normal 1 ms", make: heldFaults(128, 1, 0.01, 0, heldNoise(halfNormal(Millisecond)))},
	// The worst that anybody would play with.
	{name: "lost 2 %, exponential 0.5 ms", make: heldFaults(107, 1, 0.02, 0, heldNoise(exponential(Millisecond/2)))},
	// Two ways to the same port, now and then; from the first tick on.
	{name: "doubled 0.2 % from tick 0, quiet", make: heldFaults(120, 0, 0, 0.002)},
	// The same, more.
	{name: "doubled 2 % from tick 0, half-normal 1 ms", make: heldFaults(133, 0, 0, 0.02, heldNoise(halfNormal(Millisecond)))},
	// It begins later.
	{name: "doubled 1 % from tick 400, half-normal 1 ms", make: heldFaults(96, 400, 0, 0.01, heldNoise(halfNormal(Millisecond)))},
	// Both.
	{name: "lost 0.5 %, doubled 0.5 %, half-normal 1 ms", make: heldFaults(124, 48, 0.005, 0.005, heldNoise(halfNormal(Millisecond)))},
	// Both, on USB.
	{name: "lost 1 %, doubled 1 %, USB", make: heldFaults(140, 96, 0.01, 0.01, heldPoll(1))},
	// Loss through a buffer.
	{name: "lost 0.3 % from tick 200, buffer up 256 at 48", make: heldFaults(121, 200, 0.003, 0, heldCeil(256, 48))},
}
