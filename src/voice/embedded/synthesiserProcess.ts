import { z } from 'zod';
import { type FliteResult, loadFlite } from './synthesiser.js';

/**
 * Entry point of a synthesizer process: it takes one request at a time over the channel to its parent and answers each.
 * It ends when the parent does.
 */

const requestSchema = z.strictObject({ voice: z.string(), durationStretch: z.number(), text: z.string() });

process.on('disconnect', () => process.exit());
// The parent decides how to handle a signal that goes to its whole process group.
for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP']) process.on(signal, () => undefined);

const flite = loadFlite();
// A load error is reported with each answer. Without this handler the process would exit before the first request
// comes.
flite.catch(() => undefined);

process.on('message', async (message) => {
  process.send?.(await answer(message));
});

async function answer(message: unknown): Promise<FliteResult> {
  try {
    const speak = await flite;
    return await speak(requestSchema.parse(message));
  } catch (error) {
    return { wave: null, message: error instanceof Error ? error.message : String(error) };
  }
}
