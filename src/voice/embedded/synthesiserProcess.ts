import { setFlagsFromString } from 'node:v8';
import { runInNewContext } from 'node:vm';
import { z } from 'zod';
import { loadFlite } from './synthesiser.js';

/**
 * Entry of a synthesiser process: takes one request at a time over the channel to its parent and answers each.
 * It ends when the parent does.
 */

const requestSchema = z.strictObject({ voice: z.string(), durationStretch: z.number(), text: z.string() });

// Without this an instance's 20 MB of memory stays until a collection happens to come by: twice the memory.
setFlagsFromString('--expose-gc');
const collectGarbage: () => void = runInNewContext('gc');

process.on('disconnect', () => process.exit());
// The parent decides what an interrupt from the keyboard means.
process.on('SIGINT', () => undefined);

const flite = loadFlite();

process.on('message', async (message) => {
  const result = await answer(message);
  process.send?.(result, () => collectGarbage());
});

async function answer(message: unknown): Promise<{ wave: Uint8Array | null; said: string }> {
  try {
    const speak = await flite;
    return await speak(requestSchema.parse(message));
  } catch (error) {
    return { wave: null, said: error instanceof Error ? error.message : String(error) };
  }
}
