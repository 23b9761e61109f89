// Prints what a packet costs the independent sACN library: nanoseconds for each
// of ROUNDS rounds of UNIVERSES universes, sent by unicast to loopback port 5568.
//
//   node sacn-cost.mjs UNIVERSES ROUNDS
import sacn from 'sacn';

const [universes, rounds] = process.argv.slice(2).map(Number);
const senders = Array.from({ length: universes }, (_, i) => new sacn.Sender({
  universe: i + 1, useUnicastDestination: '127.0.0.1', defaultPacketOptions: { useRawDmxValues: true, sourceName: 'npm peer' },
}));
const payload = {};
for (let n = 1; n <= 512; n++) payload[n] = n % 256;
const round = () => Promise.all(senders.map((s) => s.send({ payload })));
for (let i = 0; i < 20; i++) await round();
const began = process.hrtime.bigint();
for (let i = 0; i < rounds; i++) await round();
console.log(Number(process.hrtime.bigint() - began) / rounds / universes);
process.exit(0);
