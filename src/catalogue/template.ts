import Mustache from 'mustache';

/** The values for a template: spelled-out words, flags, or nothing. */
export type View = Readonly<Record<string, string | boolean | undefined>>;

/** Names that every spoken template can use. Values are spelled out; flags open sections. */
export const commonNames = [
  'name',
  'firstSession',
  'surface',
  'headSupport',
  'kneesStraight',
  'kneesBent',
  'kneesOverPillow',
  'sets',
  'reps',
  'holdSeconds',
  'restSeconds',
  'setRestSeconds',
  'liftSeconds',
  'lowerSeconds',
  'severalSets',
  'severalReps',
  'severalSeconds',
  'wholeMinutes',
  'oneMinute',
  'extraSeconds',
  'eachSide',
  'alternate',
] as const;

/** Names that exist only if a side is known. */
export const sideNames = ['side', 'otherSide', 'previousSide'] as const;

/**
 * Checks a Mustache template without rendering it.
 *
 * @returns the problem in one sentence, or null
 */
export function templateFault(template: string, allowedNames: readonly string[]): string | null {
  forgetWhenMany(template);
  let names: string[];
  try {
    names = namesIn(Mustache.parse(template));
  } catch (cause) {
    return cause instanceof Error ? cause.message : 'the template cannot be read';
  }
  const unknown = names.find((name) => !allowedNames.includes(name));
  return unknown === undefined ? null : `the template uses {{${unknown}}}, which does not exist here`;
}

/**
 * Mustache caches every parsed template forever. Clinicians' own notes also pass through here, so the cache is cleared
 * from time to time.
 */
const mostKept = 4_000;
const seen = new Set<string>();

function forgetWhenMany(template: string): void {
  if (seen.size >= mostKept) {
    Mustache.clearCache();
    seen.clear();
  }
  seen.add(template);
}

/** Renders a template to words for a voice: plain text, single spaces. */
export function speak(template: string, view: View): string {
  return Mustache.render(template, view, undefined, { escape: (text) => text })
    .replace(/\s+/g, ' ')
    .replace(/ ([.,?!])/g, '$1')
    .trim();
}

type Tokens = ReturnType<typeof Mustache.parse>;

function namesIn(tokens: Tokens): string[] {
  return tokens.flatMap((token: Tokens[number]) => {
    const [type, name, , , inner] = token;
    if (type === 'text' || type === '!') return [];
    if (type === '>') return [`> ${name}`];
    return Array.isArray(inner) ? [String(name), ...namesIn(inner as Tokens)] : [String(name)];
  });
}
