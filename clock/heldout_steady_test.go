package clock

// The models of one tempo and jitter that stays the same, or nearly so. All are
// common practice, no source. A tick lasts 2500 ms divided by the BPM.
//
// Where the rounding creeps over more than a hundred ticks before it comes round,
// because a tick is nearly a simple multiple or part of the buffer, the model is
// not called steady: in the short run that is a drift like any other.

// heldBuffers: programs that work in audio buffers.
var heldBuffers = []heldModel{
	// Stamped with the beginning of a very small buffer, as on a tuned machine.
	{name: "buffer down 32 at 48, 128 BPM", steady: true, make: heldConstant(128, heldFloor(32, 48))},
	// Stamped with the beginning of a small buffer.
	{name: "buffer down 64 at 44.1, 97 BPM", steady: true, make: heldConstant(97, heldFloor(64, 44.1))},
	// Sent when a small buffer is done.
	{name: "buffer up 128 at 44.1, 140 BPM", steady: true, make: heldConstant(140, heldCeil(128, 44.1))},
	// The usual buffer of a laptop on stage.
	{name: "buffer up 256 at 48, 124 BPM", steady: true, make: heldConstant(124, heldCeil(256, 48))},
	// The same at a doubled sample rate.
	{name: "buffer down 256 at 96, 174 BPM", steady: true, make: heldConstant(174, heldFloor(256, 96))},
	// Ten milliseconds at a compact disc's rate: what some drivers give.
	{name: "buffer up 441 at 44.1, 117.3 BPM", steady: true, make: heldConstant(117.3, heldCeil(441, 44.1))},
	// Ten milliseconds at a film's rate.
	{name: "buffer down 480 at 48, 133 BPM", steady: true, make: heldConstant(133, heldFloor(480, 48))},
	// The usual careful buffer.
	{name: "buffer up 512 at 44.1, 126 BPM", steady: true, make: heldConstant(126, heldCeil(512, 44.1))},
	// The same at a doubled rate.
	{name: "buffer up 512 at 88.2, 88 BPM", steady: true, make: heldConstant(88, heldCeil(512, 88.2))},
	// Twenty milliseconds: shared sound systems of desktops.
	{name: "buffer down 882 at 44.1, 110 BPM", steady: true, make: heldConstant(110, heldFloor(882, 44.1))},
	// Twenty milliseconds at a film's rate, a tempo close below a tick a buffer.
	{name: "buffer up 960 at 48, 131.7 BPM", steady: true, make: heldConstant(131.7, heldCeil(960, 48))},
	// A round number of samples that divides nothing.
	{name: "buffer down 1000 at 48, 101.3 BPM", steady: true, make: heldConstant(101.3, heldFloor(1000, 48))},
	// A large buffer, about a tick long.
	{name: "buffer up 1024 at 44.1, 122 BPM", steady: true, make: heldConstant(122, heldCeil(1024, 44.1))},
	// A large buffer at a quadrupled rate of work.
	{name: "buffer down 1024 at 96, 150 BPM", steady: true, make: heldConstant(150, heldFloor(1024, 96))},
	// A buffer that is longer than two ticks: they come in twos and threes.
	{name: "buffer up 2048 at 44.1, 128.5 BPM", steady: true, make: heldConstant(128.5, heldCeil(2048, 44.1))},
	// The largest buffer on offer, for playing back only: four ticks and five at once.
	{name: "buffer up 4096 at 48, 123 BPM", steady: true, make: heldConstant(123, heldCeil(4096, 48))},
	// The largest buffer at a slow tempo.
	{name: "buffer down 4096 at 44.1, 66 BPM", steady: true, make: heldConstant(66, heldFloor(4096, 44.1))},
	// The thread that fills the buffer is woken up to 0.1 ms late.
	{name: "buffer up 256 at 44.1 + 0.1 ms, 120 BPM", steady: true, make: heldConstant(120, heldCeil(256, 44.1), heldNoise(exponential(Millisecond/10)))},
	// The thread is woken half a millisecond late on average.
	{name: "buffer up 512 at 48 + 0.5 ms, 118 BPM", steady: true, make: heldConstant(118, heldCeil(512, 48), heldNoise(exponential(Millisecond/2)))},
	// The thread shares its core.
	{name: "buffer down 512 at 44.1 + 1 ms, 92 BPM", steady: true, make: heldConstant(92, heldFloor(512, 44.1), heldNoise(halfNormal(Millisecond)))},
	// A busy machine with a large buffer.
	{name: "buffer up 1024 at 48 + 3 ms, 112 BPM", steady: true, make: heldConstant(112, heldCeil(1024, 48), heldNoise(halfNormal(3*Millisecond)))},
	// A buffer, then a short radio interval, then USB read each millisecond.
	{name: "buffer 256 at 48, radio 7.5, USB, 120 BPM", steady: true, make: heldConstant(120, heldCeil(256, 48), heldPoll(7.5), heldPoll(1))},
	// The same with the next interval up, and another buffer.
	{name: "buffer 128 at 44.1, radio 8.75, USB, 105 BPM", steady: true, make: heldConstant(105, heldCeil(128, 44.1), heldPoll(8.75), heldPoll(1))},
	// A common buffer and a radio interval of about its length.
	{name: "buffer 512 at 48, radio 11.25, USB, 129 BPM", steady: true, make: heldConstant(129, heldCeil(512, 48), heldPoll(11.25), heldPoll(1))},
	// A telephone's interval, from a tablet with a large buffer.
	{name: "buffer 1024 at 48, radio 15, USB, 101.5 BPM", steady: true, make: heldConstant(101.5, heldCeil(1024, 48), heldNoise(exponential(Millisecond/2)), heldPoll(15), heldPoll(1))},
	// A telephone that saves power.
	{name: "buffer 480 at 48, radio 30, USB, 127 BPM", steady: true, make: heldConstant(127, heldCeil(480, 48), heldPoll(30), heldPoll(1))},
	// Two programs chained, each with its own buffer and sound card.
	{name: "buffers 512 at 44.1 and 480 at 48, 121 BPM", steady: true, make: heldConstant(121, heldFloor(512, 44.1), heldPoll(10))},
	// A tick is 0.1 % shorter than the buffer: the delay creeps for 40 s, then leaps.
	{name: "buffer 1024 at 48 near a tick, 117.3 BPM", make: heldConstant(117.3, heldCeil(1024, 48))},
	// A tick is half a percent longer than the buffer.
	{name: "buffer 1024 at 48 near a tick, 116.6 BPM", make: heldConstant(116.6, heldFloor(1024, 48))},
	// A tick is 3 % longer than the buffer.
	{name: "buffer 1024 at 48 near a tick, 113.7 BPM", steady: true, make: heldConstant(113.7, heldFloor(1024, 48))},
	// A tick is 0.3 % longer than two buffers.
	{name: "buffer 512 at 44.1 near half a tick, 107.34 BPM", make: heldConstant(107.34, heldCeil(512, 44.1))},
	// A tick is 0.4 % longer than two buffers of ten milliseconds; a waking thread.
	{name: "buffer 441 at 44.1 near half a tick, 124.5 BPM", make: heldConstant(124.5, heldCeil(441, 44.1), heldNoise(exponential(Millisecond/5)))},
	// Two ticks are 0.2 % more than three buffers.
	{name: "buffer 512 at 48 near 2/3 of a tick, 156 BPM", make: heldConstant(156, heldFloor(512, 48))},
	// Two ticks are 1.5 % longer than one buffer.
	{name: "buffer 2048 at 48 near two ticks, 115.5 BPM", steady: true, make: heldConstant(115.5, heldCeil(2048, 48))},
	// Exactly two buffers a tick: a tempo that somebody chose for it.
	{name: "buffer 480 at 48, half a tick, 125 BPM", steady: true, make: heldConstant(125, heldFloor(480, 48), heldNoise(halfNormal(Millisecond/2)))},
}

// heldClocks: coarse timers, radio and USB without buffers, and cables.
var heldClocks = []heldModel{
	// A good box on a cable: nothing to see.
	{name: "quiet, 60 BPM", steady: true, make: heldConstant(60)},
	// The same, fast; each message takes its time on the wire.
	{name: "wire, 174 BPM", steady: true, make: heldConstant(174, heldWire(320*Microsecond))},
	// A quartz that is 50 millionths off is a tempo like any other.
	{name: "quiet, 50 millionths off, 120 BPM", steady: true, make: heldConstant(120*1.00005, heldNoise(exponential(100*Microsecond)))},
	// A quartz that warms up and cools down.
	{name: "quiet, rate swings by 50 millionths", make: heldDrift(120, 50, 60*Second)},
	// The same with a jitter of 1 ms.
	{name: "rate swings by 50 millionths, half-normal 1 ms", make: heldDrift(103, 50, 40*Second, heldNoise(halfNormal(Millisecond)))},
	// A millisecond timer, cut off.
	{name: "timer 1 ms down, 119.9 BPM", steady: true, make: heldConstant(119.9, heldTimer(1, heldDown))},
	// USB read each millisecond.
	{name: "USB, 1 ms, 143 BPM", steady: true, make: heldConstant(143, heldPoll(1))},
	// A two-millisecond timer.
	{name: "timer 2 ms nearest, 87.5 BPM", steady: true, make: heldConstant(87.5, heldTimer(2, heldNear))},
	// A five-millisecond timer with a busy thread.
	{name: "timer 5 ms up + 0.3 ms, 136 BPM", steady: true, make: heldConstant(136, heldTimer(5, heldUp), heldNoise(exponential(300*Microsecond)))},
	// A ten-millisecond timer of an old kernel.
	{name: "timer 10 ms down, 113 BPM", steady: true, make: heldConstant(113, heldTimer(10, heldDown))},
	// The default timer of a desktop system: 64 a second.
	{name: "timer 15.625 ms down, 120 BPM", steady: true, make: heldConstant(120, heldTimer(15.625, heldDown))},
	// The same, rounded, at another tempo.
	{name: "timer 15.625 ms nearest, 98.7 BPM", steady: true, make: heldConstant(98.7, heldTimer(15.625, heldNear))},
	// A page in a browser in the background of another: 16 ms and a bit of noise.
	{name: "timer 16 ms up + 1 ms, 106 BPM", steady: true, make: heldConstant(106, heldTimer(16, heldUp), heldNoise(halfNormal(Millisecond)))},
	// A page that draws 60 times a second and sends then.
	{name: "picture 16.667 ms up, 115 BPM", steady: true, make: heldConstant(115, heldPoll(1000./60))},
	// Whole milliseconds between ticks; each beat is put right.
	{name: "interval in 1 ms, right each beat, 120 BPM", steady: true, make: heldConstant(120, heldRounded(Millisecond, 24))},
	// The same, put right each bar: up to 30 ms off by then.
	{name: "interval in 1 ms, right each bar, 109 BPM", make: heldConstant(109, heldRounded(Millisecond, 96))},
	// Two-millisecond steps, put right each beat, read by USB.
	{name: "interval in 2 ms, right each beat, USB, 126 BPM", steady: true, make: heldConstant(126, heldRounded(2*Millisecond, 24), heldPoll(1))},
	// Radio without buffers, from a small box.
	{name: "radio 7.5 ms, 138 BPM", steady: true, make: heldConstant(138, heldPoll(7.5))},
	// A common interval with lost packets that come an interval or two later.
	{name: "radio 10 ms, some a round later, USB, 122 BPM", steady: true, make: heldConstant(122, heldPoll(10), heldNoise(heldEither(halfNormal(0), heldAfter(10*Millisecond, halfNormal(0)), 0.05)), heldPoll(1))},
	// Twenty milliseconds: about a tick.
	{name: "radio 20 ms, USB, 119 BPM", steady: true, make: heldConstant(119, heldNoise(exponential(200*Microsecond)), heldPoll(20), heldPoll(1))},
	// A device that saves power, and a slow song.
	{name: "radio 30 ms, 72 BPM", steady: true, make: heldConstant(72, heldPoll(30))},
	// A bridge that hands on two messages at a time.
	{name: "in twos, 120 BPM", steady: true, make: heldConstant(120, heldBatch(2), heldNoise(exponential(300*Microsecond)))},
	// A bridge that hands on three messages at a time: equal stamps.
	{name: "in threes, equal stamps, 95 BPM", steady: true, make: heldConstant(95, heldBatch(3))},
	// A bridge whose packets hold six messages, slow wire behind it.
	{name: "in sixes, wire, 132 BPM", steady: true, make: heldConstant(132, heldBatch(6), heldWire(320*Microsecond))},
}

// heldNoises: random delays.
var heldNoises = []heldModel{
	// A scheduler at ease.
	{name: "half-normal 0.3 ms, 75 BPM", steady: true, make: heldConstant(75, heldNoise(halfNormal(300*Microsecond)))},
	// A scheduler at work.
	{name: "half-normal 3 ms, 117.3 BPM", steady: true, make: heldConstant(117.3, heldNoise(halfNormal(3*Millisecond)))},
	// A poor one, fast song.
	{name: "half-normal 8 ms, 160 BPM", steady: true, make: heldConstant(160, heldNoise(halfNormal(8*Millisecond)))},
	// Waits in a queue.
	{name: "exponential 1 ms, 120 BPM", steady: true, make: heldConstant(120, heldNoise(exponential(Millisecond)))},
	// A long queue, slow song.
	{name: "exponential 4 ms, 63 BPM", steady: true, make: heldConstant(63, heldNoise(exponential(4*Millisecond)))},
	// Three queues in a row: hardly any message comes at the earliest.
	{name: "gamma 3 of 1 ms, 125 BPM", steady: true, make: heldConstant(125, heldNoise(heldGamma(3, Millisecond)))},
	// Eight queues in a row: nearly Gaussian.
	{name: "gamma 8 of 0.6 ms, 90 BPM", steady: true, make: heldConstant(90, heldNoise(heldGamma(8, 600*Microsecond)))},
	// A sender that errs both ways.
	{name: "Gauss 1 ms, 120 BPM", steady: true, make: heldConstant(120, heldFree(heldGauss(Millisecond)))},
	// A sender that errs both ways, widely.
	{name: "Gauss 4 ms, 108 BPM", steady: true, make: heldConstant(108, heldFree(heldGauss(4*Millisecond)))},
	// Read by a loop that takes 4 ms.
	{name: "uniform 4 ms, 130 BPM", steady: true, make: heldConstant(130, heldNoise(heldUniform(4*Millisecond)))},
	// Read by a loop that takes 12 ms.
	{name: "uniform 12 ms, 84 BPM", steady: true, make: heldConstant(84, heldNoise(heldUniform(12*Millisecond)))},
	// Both ways, mostly little, now and then much.
	{name: "Laplace 1.5 ms, 116 BPM", steady: true, make: heldConstant(116, heldFree(heldLaplace(1500*Microsecond)))},
	// Two ways through a machine: a third take the longer one.
	{name: "two ways, 0 and 6 ms, 120 BPM", steady: true, make: heldConstant(120, heldNoise(heldEither(halfNormal(300*Microsecond), heldAfter(6*Millisecond, halfNormal(300*Microsecond)), 0.33)))},
	// Nearly all take the longer way.
	{name: "two ways, 8 ms mostly, 144 BPM", steady: true, make: heldConstant(144, heldNoise(heldEither(heldAfter(8*Millisecond, halfNormal(500*Microsecond)), halfNormal(500*Microsecond), 0.08)))},
	// A network with a tail.
	{name: "log-normal 1 ms, 1.0, 120 BPM", steady: true, make: heldConstant(120, heldNoise(heldLogNormal(Millisecond, 1)))},
	// A network with a light tail and a large delay.
	{name: "log-normal 6 ms, 0.4, 102 BPM", steady: true, make: heldConstant(102, heldNoise(heldLogNormal(6*Millisecond, 0.4)))},
	// A heavy tail: now and then a tick is late by a beat's part.
	{name: "Pareto 0.5 ms, 1.5, 128 BPM", steady: true, make: heldConstant(128, heldNoise(heldPareto(500*Microsecond, 1.5)))},
	// A heavier one, overtaking.
	{name: "Pareto 1 ms, 1.2, overtaking, 94 BPM", make: heldConstant(94, heldFree(heldPareto(Millisecond, 1.2)))},
	// One message in twenty arrives early, the rest are exact.
	{name: "5 % up to 5 ms early, 120 BPM", steady: true, make: heldConstant(120, heldFree(heldEither(halfNormal(0), heldAfter(-5*Millisecond, heldUniform(5*Millisecond)), 0.05)))},
	// Quiet, then busy: the band starts to record.
	{name: "half-normal 0.5 and 4 ms in turn, 120 BPM", make: heldConstant(120, heldChanging(900, halfNormal(Millisecond/2), halfNormal(4*Millisecond)))},
	// The usual delay grows by 5 ms for a minute's part, then shrinks.
	{name: "delay 0 and 5 ms in turn, 111 BPM", make: heldConstant(111, heldChanging(800, exponential(300*Microsecond), heldAfter(5*Millisecond, exponential(300*Microsecond))))},
	// Exact, then one-sided, then both ways.
	{name: "none, exponential, Gauss in turn, 137 BPM", make: heldConstant(137, heldChanging(700, halfNormal(0), exponential(2*Millisecond), heldAfter(4*Millisecond, heldGauss(Millisecond))))},
	// A load that lasts for some ticks.
	{name: "sticky 1 ms, 0.8, 120 BPM", make: heldConstant(120, heldSticky(Millisecond, 0.8))},
	// A load that lasts for a bar.
	{name: "sticky 2 ms, 0.98, 99 BPM", make: heldConstant(99, heldSticky(2*Millisecond, 0.98), heldNoise(exponential(300*Microsecond)))},
	// A buffer on the way fills and empties over 20 s.
	{name: "delay swings by 3 ms over 20 s, 120 BPM", make: heldConstant(120, heldWander(3*Millisecond, 20*Second))},
	// The same, faster, with jitter.
	{name: "delay swings by 2 ms over 5 s + 1 ms, 134 BPM", make: heldConstant(134, heldWander(2*Millisecond, 5*Second), heldNoise(halfNormal(Millisecond)))},
}
