// Sends and receives OSC by UDP with an independent library. What arrives is
// printed as one line of JSON; each line of standard input is one of the packets
// below by its number, sent to the port that was given; or, in JSON, a packet and
// the port that it is for: {"port": 9000, "packet": {...}}.
//
//   node osc-peer.mjs PORT
import dgram from 'node:dgram';
import readline from 'node:readline';
import { fromBuffer, toBuffer } from 'osc-min';

const port = Number(process.argv[2]);
const t = (type, value) => ({ type, value });
const packets = [
  { oscType: 'message', address: '/tactus/section/fire', args: [t('string', 'chorus')] },
  { oscType: 'message', address: '/every/kind', args: [
    t('integer', -7), t('float', 0.5), t('string', 'abc'), t('string', 'abcd'), t('blob', new Uint8Array([1, 2, 3])),
    t('true'), t('false'), t('null'), t('bang'), t('double', 1.1), t('timetag', [3976214400, 2147483648]),
  ] },
  { oscType: 'bundle', timetag: [3976214400, 2147483648], elements: [
    { oscType: 'message', address: '/a', args: [t('integer', 1)] },
    { oscType: 'bundle', timetag: [3976214401, 0], elements: [{ oscType: 'message', address: '/b', args: [] }] },
  ] },
];
const plain = (p) => JSON.stringify(p, (_, v) => (v instanceof Uint8Array || v instanceof DataView
  ? Buffer.from(v.buffer, v.byteOffset, v.byteLength).toString('hex') : v));

const socket = dgram.createSocket('udp4', (msg) => {
  try {
    console.log(plain(fromBuffer(msg)));
  } catch (err) {
    console.log(JSON.stringify({ fault: err.message }));
  }
});
socket.bind(0, '127.0.0.1', () => console.log(socket.address().port));
readline.createInterface({ input: process.stdin })
  .on('line', (line) => {
    const { port: to, packet } = line.startsWith('{') ? JSON.parse(line) : { port, packet: packets[Number(line)] };
    const b = toBuffer(packet);
    socket.send(new Uint8Array(b.buffer, b.byteOffset, b.byteLength), to, '127.0.0.1');
  })
  .on('close', () => process.exit(0));
