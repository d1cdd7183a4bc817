import { z } from 'zod';
import { inputError } from '../errors/stillcountError.js';

export const commandVariable = 'STILLCOUNT_VOICE_COMMAND';
const example = '["my-voice","--rate","{wordsPerMinute}","--output","{out}","--","{text}"]';
const commandSchema = z.array(z.string()).min(1).max(200);

/**
 * Reads the argument list of the command voice from its environment variable; null when it is not set.
 *
 * @throws StillcountError kind `input` when it is not a JSON array of strings
 */
export function commandSetting(environment: NodeJS.ProcessEnv): readonly string[] | null {
  const value = environment[commandVariable];
  if (value === undefined || value.trim() === '') return null;
  const parsed = commandSchema.safeParse(jsonOf(value));
  if (parsed.success && parsed.data[0] !== '' && !parsed.data.some((part) => part.includes('\0'))) {
    return parsed.data;
  }
  throw inputError({
    message: 'The voice command is not a list of a program and its arguments.',
    file: 'environment',
    path: commandVariable,
    // The value can contain a secret key, so the message does not repeat it.
    found: parsed.success
      ? 'an empty program name or a zero byte'
      : 'something else (not shown, it may hold a key)',
    allowed: `a JSON array of strings, for example ${example}`,
  });
}

function jsonOf(value: string): unknown {
  try {
    return JSON.parse(value);
  } catch {
    return undefined;
  }
}
