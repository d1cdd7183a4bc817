/**
 * Writes `src/store/schema/expectedSchema.ts` from a database that all steps have made. Run it once for each new step:
 *
 *     npx tsx tests/store/keepExpectedSchema.ts
 */
import { writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { freshSchema } from './freshSchema.js';

const text = `import type { Schema } from './schemaDifferences.js';

/** What the newest step of the schema leaves; written by tests/store/keepExpectedSchema.ts. */
export const expectedSchema: Schema = ${JSON.stringify(await freshSchema(), null, 2)};
`;
await writeFile(join(import.meta.dirname, '../../src/store/schema/expectedSchema.ts'), text);
