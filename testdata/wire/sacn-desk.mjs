// A house desk by the independent library: sends universes by multicast ten times a
// second. Each line of standard input is a universe and a slot's level, or a universe
// to stop:
//
//   11 3=204
//   11 stop
//
//   node sacn-desk.mjs INTERFACE-ADDRESS NAME PRIORITY
import readline from 'node:readline';
import sacn from 'sacn';

const [iface, sourceName, priority] = process.argv.slice(2);
const cid = Buffer.from('house desk, test');
const desk = new Map(); // universe -> {sender, payload}
readline.createInterface({ input: process.stdin })
  .on('line', (line) => {
    const [number, what] = line.split(' ');
    const universe = Number(number);
    if (what === 'stop') {
      desk.get(universe).sender.close();
      desk.delete(universe);
      return;
    }
    if (!desk.has(universe)) {
      const sender = new sacn.Sender({
        iface, universe, reuseAddr: true, minRefreshRate: 10,
        defaultPacketOptions: { useRawDmxValues: true, sourceName, priority: Number(priority), cid },
      });
      desk.set(universe, { sender, payload: {} });
    }
    const { sender, payload } = desk.get(universe);
    const [slot, level] = what.split('=').map(Number);
    payload[slot] = level;
    sender.send({ payload: { ...payload } });
  })
  .on('close', () => process.exit(0));
