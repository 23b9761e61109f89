// Merges E1.31 packets with the independent library: highest priority, then highest
// level. Each line of standard input is a packet in hexadecimal, for universe 1; the
// answer is a line with the 512 levels in hexadecimal. Nothing is sent or received.
//
//   node sacn-merge.mjs INTERFACE-ADDRESS
import readline from 'node:readline';
import sacn from 'sacn';

const [iface] = process.argv.slice(2);
const receiver = new sacn.unstable_MergingReceiver({ iface, universes: [1], port: 0, mode: 'HTP', timeout: 3_600_000 });
for (const event of ['PacketCorruption', 'PacketOutOfOrder', 'error']) {
  receiver.on(event, (err) => console.log(`${event}: ${err.message}`));
}
receiver.socket.on('listening', () => console.log('ready'));
readline.createInterface({ input: process.stdin })
  .on('line', (line) => {
    receiver.socket.emit('message', Buffer.from(line, 'hex'), { address: '127.0.0.1' });
    const shown = receiver.data.get(1).referenceData; // percent
    const levels = Buffer.alloc(512);
    for (let n = 1; n <= 512; n++) levels[n - 1] = Math.round((shown[n] ?? 0) * 2.55);
    console.log(levels.toString('hex'));
  })
  .on('close', () => process.exit(0));
