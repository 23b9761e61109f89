// Sends one universe with the npm artnet sender, slot n at (n * 7) % 256, over
// and over. Ends with its standard input.
//
//   node artnet-npm-send.mjs TO PORT PORT-ADDRESS
import { createRequire } from 'node:module';

const [port, address] = process.argv.slice(3, 5).map(Number);
const sender = createRequire(import.meta.url)('artnet')({ host: process.argv[2], port, sendAll: true });
const levels = Array.from({ length: 512 }, (_, i) => ((i + 1) * 7) % 256);
sender.set(address, 1, levels);
setInterval(() => sender.send(address, true), 30);
process.stdin.on('end', () => process.exit(0)).resume();
