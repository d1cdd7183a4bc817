import { fileURLToPath } from 'node:url';
import { z } from 'zod';
import { inputError } from '../errors/stillcountError.js';

const environmentSchema = z.object({
  /** Folder for what is kept between runs: clips and encoded segments, under `cache`. */
  STILLCOUNT_DATA: z.string().min(1).default('output'),
  /** Folder with one folder of spoken words for each language. */
  STILLCOUNT_TEMPLATES: z
    .string()
    .min(1)
    .default(fileURLToPath(new URL('../../audio-templates', import.meta.url))),
});

export type Settings = { dataFolder: string; templatesFolder: string };

/**
 * Reads the settings from the environment. Other rooms read their own: STILLCOUNT_FFMPEG names an encoder,
 * STILLCOUNT_VOICE_COMMAND a voice.
 *
 * @throws StillcountError kind `input` naming the variable
 */
export function readSettings(environment: NodeJS.ProcessEnv): Settings {
  const result = environmentSchema.safeParse(environment);
  if (result.success) {
    return { dataFolder: result.data.STILLCOUNT_DATA, templatesFolder: result.data.STILLCOUNT_TEMPLATES };
  }
  throw inputError(
    result.error.issues.map((issue) => ({
      file: 'environment',
      path: issue.path.join('.'),
      message: 'this setting cannot be used',
      allowed: 'a folder',
    })),
  );
}
