// Draws the folders of src and their arrows into DEVELOPERS.md.
import { readFile, writeFile } from 'node:fs/promises';
import { fileURLToPath } from 'node:url';
import { drawPicture, putInto } from './draw.js';
import { readCode } from './folderGraph.js';

const root = fileURLToPath(new URL('../..', import.meta.url));
const file = fileURLToPath(new URL('../../DEVELOPERS.md', import.meta.url));

await writeFile(file, putInto(await readFile(file, 'utf8'), drawPicture(await readCode(root))));
console.log('Drawn into DEVELOPERS.md.');
