// Renders the first starter program, measures the result, and prints how to listen to it.
import { relative, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { runCommand } from '../../src/cli/runCommand.js';

const root = fileURLToPath(new URL('../..', import.meta.url));
process.chdir(root);
const program = 'audio-templates/en/programs/first.yaml';
const folder = 'output/demo';

console.log(
  `Making the session of ${program}. The first time, every sentence must be spoken: some seconds, or a minute on a busy machine.\n`,
);
const rendered = await runCommand(['render', program, '--out', folder, '--force']);
if (rendered !== 0) process.exit(rendered);

console.log('\nIt can be heard now. Measured on the finished file:\n');
const inspected = await runCommand([
  'inspect',
  `${folder}/session.mp3`,
  '--against',
  `${folder}/session.script.json`,
]);

const sheet = 'output/figures.png';
const drawn = await runCommand(['figure', '--out', sheet, '--force']);
if (drawn !== 0) process.exit(drawn);

const openWith: Partial<Record<NodeJS.Platform, string>> = {
  darwin: 'open',
  win32: 'start',
  linux: 'xdg-open',
};
const sound = relative(process.cwd(), resolve(folder, 'session.mp3'));
console.log(`
To listen:  ${openWith[process.platform] ?? 'open'} ${sound}
            or open it in any player or browser. It has chapters; lie down, close your eyes, press play.
To read:    ${folder}/session.txt
To look at: ${sheet}, every exercise as it is drawn
To change:  copy ${program}, edit it, then
            npm run -s stillcount -- render YOUR.yaml --out output/mine

It is a demonstration, not advice: exercises are for a licensed clinician to choose and dose.`);
process.exitCode = inspected;
