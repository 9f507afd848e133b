/** The stand-in as a process of its own: `node child.ts FOLDER TOKEN`; ends with its input. */
import { startStandIn } from './server.ts';

const [, , folder = '', token = ''] = process.argv;
const standIn = await startStandIn({ folder, token });
console.log(standIn.url('NAME'));
process.stdin.resume().on('end', () => process.exit(0));
