// Sends multicast E1.31 by an interface with the independent library: on every
// line of standard input one packet whose slot n has the value n * FACTOR + the
// line's number, modulo 256.
//
//   node sacn-send.mjs INTERFACE-ADDRESS UNIVERSE FACTOR
import readline from 'node:readline';
import sacn from 'sacn';

const [iface, universe, factor] = process.argv.slice(2);
const sender = new sacn.Sender({
  iface, universe: Number(universe), reuseAddr: true,
  defaultPacketOptions: { useRawDmxValues: true, sourceName: 'npm peer', priority: 120 },
});
let line = 0;
readline.createInterface({ input: process.stdin })
  .on('line', async () => {
    const payload = {};
    for (let n = 1; n <= 512; n++) payload[n] = (n * Number(factor) + line) % 256;
    line++;
    await sender.send({ payload });
  })
  .on('close', () => process.exit(0));
sender.socket.on('listening', () => console.log('ready'));
