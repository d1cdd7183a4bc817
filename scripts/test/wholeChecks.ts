import { spawnSync } from 'node:child_process';

const sound = [
  'src/audio',
  'src/ffmpeg',
  'src/script',
  'src/session',
  'src/signal',
  'src/voice',
  'audio-templates',
];

/**
 * The checks that `npm test` runs shortened, and what each of them guards: a change there calls for the whole of it.
 * `npm run test:long` runs all of them whole, `npm test -- --since COMMIT` those that guard what has changed since then.
 */
export const wholeChecks = [
  // tests/session/starters.test.ts: every starter program made and measured in both voices, instead of one in each.
  { name: 'starters', guards: sound },
  // tests/listening: every cue is listened to, instead of one starter's, and of the others every wording once.
  { name: 'listener', guards: sound },
  // tests/service/kill.test.ts: a hundred kills instead of five; tests/store/faults.test.ts: twelve instead of four.
  { name: 'kills', guards: ['src/store', 'src/service', 'src/clinic/people'] },
  // tests/reminders/crash.test.ts: two hundred deaths instead of one at every step.
  { name: 'reminders', guards: ['src/reminders', 'src/channels', 'src/store/engine', 'src/store/reminding'] },
  // tests/voice/contract.test.ts: each odd text by itself in each voice, instead of all of them in one;
  // speakingRate.test.ts: every rate in both embedded voices.
  { name: 'voices', guards: ['src/voice', 'src/programs', 'src/signal'] },
  // tests/package/package.test.ts: the invented clinic and the doctor without voices, from the package, beside the rest.
  { name: 'package', guards: ['package.json', 'scripts/build', 'src/cli', 'src/demo', 'tests/package'] },
  // tests/program/fuzz.test.ts: two thousand damaged programs of each kind instead of six hundred; tests/script and
  // easier.test.ts: up to twice as many programs where each takes long.
  { name: 'programs', guards: ['src/program', 'src/script', 'src/catalogue', 'src/yaml', 'audio-templates'] },
  // tests/followup/simulation.test.ts: a year of two hundred people instead of forty.
  { name: 'simulation', guards: ['src/followup', 'src/schedule', 'audio-templates/en/progression.yaml'] },
  // tests/recipes/recipes.test.ts: types, inspection and the tests that a recipe names, beside its other commands.
  { name: 'recipes', guards: ['DEVELOPERS.md', 'tests/recipes'] },
  // tests in a browser: the whole browser, every rhythm of a trembling hand and every size of letters instead of some, and
  // pictures.
  { name: 'pages', guards: ['src/browser', 'src/http'] },
] as const satisfies { name: string; guards: readonly string[] }[];

export type WholeCheck = (typeof wholeChecks)[number]['name'];

/** Another version of a package may change anything. */
const guardedByAll = ['package-lock.json'];

/** The setting by which tests are told: names with commas between them, or `yes` for all. */
export const wholeSetting = 'STILLCOUNT_TEST_LONG';

/** The checks that guard one of these files. */
export function checksThatGuard(changed: readonly string[]): WholeCheck[] {
  const hasChanged = (place: string) =>
    changed.some((file) => file === place || file.startsWith(`${place}/`));
  return wholeChecks
    .filter(({ guards }) => [...guards, ...guardedByAll].some(hasChanged))
    .map(({ name }) => name);
}

/**
 * The files that differ from a commit, what is not committed yet among them; null where git cannot tell, as in a clone
 * without that commit. A file that was moved counts in both of its places.
 */
export function changedSince(commit: string, folder = process.cwd()): string[] | null {
  const git = (...words: string[]) => spawnSync('git', words, { cwd: folder, encoding: 'utf8' });
  const changed = git('diff', '--name-only', '--no-renames', '-z', '--end-of-options', commit);
  const added = git('ls-files', '--others', '--exclude-standard', '-z');
  if (changed.status !== 0 || added.status !== 0) return null;
  return `${changed.stdout}${added.stdout}`.split('\0').filter((name) => name !== '');
}
