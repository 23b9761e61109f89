// Prints "ready", then every ArtDmx that the npm dmxnet receiver accepts, as a
// JSON array of levels a line. Ends with its standard input.
//
//   node artnet-dmxnet-receive.mjs PORT NET SUBNET UNIVERSE ADDRESS
//
// ADDRESS keeps its ArtPollReply broadcasts to the network of that address.
import { createRequire } from 'node:module';

const { dmxnet } = createRequire(import.meta.url)('dmxnet');
const [port, net, subnet, universe] = process.argv.slice(2, 6).map(Number);
const hub = new dmxnet({ listen: port, hosts: [process.argv[6]], sName: 'wire peer', log: { level: 'error' } });
const receiver = hub.newReceiver({ net, subnet, universe });
receiver.on('data', (levels) => console.log(JSON.stringify(levels)));
hub.listener4.on('listening', () => console.log('ready'));
process.stdin.on('end', () => process.exit(0)).resume();
