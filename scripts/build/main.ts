// Compiles the project into dist, as it is packed, with its manual.
import { execFile } from 'node:child_process';
import { writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { promisify } from 'node:util';
import { compile } from './compile.js';

const dist = fileURLToPath(new URL('../../dist', import.meta.url));

await compile();
const manual = await promisify(execFile)(process.execPath, [join(dist, 'cli', 'main.js'), 'manual']);
await writeFile(join(dist, 'stillcount.1'), manual.stdout);
