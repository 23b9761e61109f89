// Sends one universe with the npm dmxnet sender, slot n at (n * 7) % 256, over
// and over. Ends with its standard input.
//
//   node artnet-dmxnet-send.mjs TO PORT NET SUBNET UNIVERSE OWN-PORT
import { createRequire } from 'node:module';

const { dmxnet } = createRequire(import.meta.url)('dmxnet');
const to = process.argv[2];
const [port, net, subnet, universe, own] = process.argv.slice(3, 8).map(Number);
const hub = new dmxnet({ listen: own, hosts: ['127.0.0.1'], log: { level: 'error' } });
const sender = hub.newSender({ ip: to, port, net, subnet, universe, base_refresh_interval: 25 });
for (let n = 1; n <= 512; n++) sender.prepChannel(n - 1, (n * 7) % 256);
sender.transmit();
process.stdin.on('end', () => process.exit(0)).resume();
