import { z } from 'zod';
import { type FliteResult, loadFlite } from './synthesiser.js';

/**
 * Entry of a synthesiser process: takes one request at a time over the channel to its parent and answers each.
 * It ends when the parent does.
 */

const requestSchema = z.strictObject({ voice: z.string(), durationStretch: z.number(), text: z.string() });

process.on('disconnect', () => process.exit());
// The parent decides what a signal to all of its group means.
for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP']) process.on(signal, () => undefined);

const flite = loadFlite();
// What is wrong with it is told to whoever asks: without this the process would be gone before a request has come.
flite.catch(() => undefined);

process.on('message', async (message) => {
  process.send?.(await answer(message));
});

async function answer(message: unknown): Promise<FliteResult> {
  try {
    const speak = await flite;
    return await speak(requestSchema.parse(message));
  } catch (error) {
    return { wave: null, said: error instanceof Error ? error.message : String(error) };
  }
}
