import { z } from 'zod';
import { speak, templateFault } from '../catalogue/template.js';
import { parseHouseYaml } from '../yaml/parseYaml.js';
import { type PromptKey, promptKeys } from './plan.js';

const names = ['name', 'signs'];

/** A Mustache wording that may use `name` and `signs`, and that also says something without a name. */
const wordingSchema = z.string().check((context) => {
  const fault = templateFault(context.value, names);
  const message = fault ?? (speak(context.value, {}) === '' ? 'nothing is said when there is no name' : null);
  if (message !== null) context.issues.push({ code: 'custom', message, input: context.value });
});

const promptsSchema = z.strictObject({ prompts: z.record(z.enum(promptKeys), wordingSchema) });

/** The sentences that the voice speaks outside a session. */
export type Prompts = {
  /**
   * @param view.name the listener's name, where it is known
   * @param view.signs the warning signs to choose from, as sentences
   */
  say: (key: PromptKey, view: { name?: string | undefined; signs?: string | undefined }) => string;
};

/**
 * Parses `listening.yaml`, which must have every prompt and no other.
 *
 * @throws StillcountError kind `input` naming the file, the line and the key for every fault
 */
export function parsePrompts(text: string, file: string): Prompts {
  const { prompts } = parseHouseYaml(text, file, promptsSchema);
  return { say: (key, view) => speak(prompts[key], view) };
}
