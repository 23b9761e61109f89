// Receives multicast E1.31 on an interface with the independent library and
// prints one line of JSON a packet, with raw slot values in hexadecimal.
//
//   node sacn-receive.mjs INTERFACE-ADDRESS UNIVERSE...
import sacn from 'sacn';

const [iface, ...universes] = process.argv.slice(2);
const receiver = new sacn.Receiver({ iface, universes: universes.map(Number), reuseAddr: true });
const say = (what) => console.log(JSON.stringify(what));

receiver.on('packet', (p) => say({
  universe: p.universe, sequence: p.sequence, priority: p.priority, name: p.sourceName, options: p.options,
  cid: p.cid.toString('hex'), slots: p.payloadAsBuffer.toString('hex'),
}));
for (const event of ['PacketCorruption', 'PacketOutOfOrder', 'error']) {
  receiver.on(event, (err) => say({ fault: `${event}: ${err.message}` }));
}
// The library joins its groups in its own 'listening' handler, set before this one.
receiver.socket.on('listening', () => say({ ready: true }));
process.stdin.on('data', () => {}).on('end', () => process.exit(0)); // the test has ended
