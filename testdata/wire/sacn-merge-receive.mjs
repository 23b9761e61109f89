// Receives multicast E1.31 of a universe on an interface with the independent library,
// merges its sources by priority, and prints one line of JSON for each change of the
// first slots: when, in milliseconds since 1970, and their levels.
//
//	node sacn-merge-receive.mjs INTERFACE-ADDRESS UNIVERSE SLOTS
import sacn from 'sacn';

const [iface, universe, slots] = process.argv.slice(2);
// Sources are forgotten after the data loss timeout of E1.31-2018 (6.7.1).
const receiver = new sacn.unstable_MergingReceiver({ iface, universes: [Number(universe)], reuseAddr: true, timeout: 2500 });
const say = (what) => console.log(JSON.stringify(what));

let last = '';
receiver.on('changed', ({ payload }) => {
  const levels = Array.from({ length: Number(slots) }, (_, i) => Math.round((payload[i + 1] ?? 0) * 2.55));
  if (String(levels) === last) return;
  last = String(levels);
  say({ at: performance.timeOrigin + performance.now(), levels });
});
for (const event of ['PacketCorruption', 'error']) {
  receiver.on(event, (err) => say({ fault: `${event}: ${err.message}` }));
}
receiver.socket.on('listening', () => say({ ready: true }));
process.stdin.on('data', () => {}).on('end', () => process.exit(0)); // the test has ended
