import { cp, mkdir, mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { cruise } from 'dependency-cruiser';
import extractDepcruiseConfig from 'dependency-cruiser/config-utl/extract-depcruise-config';
import extractTSConfig from 'dependency-cruiser/config-utl/extract-ts-config';
import { afterAll, expect, test } from 'vitest';
import { z } from 'zod';

const root = path.resolve(import.meta.dirname, '../..');
const reportSchema = z.object({
  summary: z.object({
    totalCruised: z.int(),
    violations: z.array(z.object({ from: z.string(), to: z.string(), rule: z.object({ name: z.string() }) })),
  }),
});

/** A small tree that keeps every rule; each planted file below breaks one. */
const cleanTree: Readonly<Record<string, string>> = {
  'src/errors/fault.ts': 'export const fault = 1;\n',
  'src/program/dose.ts': "import { fault } from '../errors/fault.js';\nexport const dose = fault;\n",
  'src/script/place.ts':
    "import { dose } from '../program/dose.js';\nimport type { Cue } from './timedScript.js';\nexport const place: Cue = dose;\n",
  'src/script/timedScript.ts': 'export type Cue = number;\n',
  'src/voice/speak.ts': "import { fault } from '../errors/fault.js';\nexport const speak = fault;\n",
  'src/audio/mix.ts':
    "import type { Cue } from '../script/timedScript.js';\nimport { speak } from '../voice/speak.js';\nexport const mix: Cue = speak;\n",
  'src/cli/main.ts':
    "import { mix } from '../audio/mix.js';\nimport { place } from '../script/place.js';\nconsole.log(mix, place);\n",
};

const trees: string[] = [];
afterAll(() => Promise.all(trees.map((tree) => rm(tree, { recursive: true, force: true }))));

/** Writes a tree with the rules of the project into a fresh folder. */
async function plant(files: Readonly<Record<string, string>>): Promise<string> {
  const tree = await mkdtemp(path.join(tmpdir(), 'stillcount-rooms-'));
  trees.push(tree);
  for (const name of ['.dependency-cruiser.cjs', 'tsconfig.json'])
    await cp(path.join(root, name), path.join(tree, name));
  for (const [name, text] of Object.entries(files)) {
    await mkdir(path.dirname(path.join(tree, name)), { recursive: true });
    await writeFile(path.join(tree, name), text);
  }
  return tree;
}

/** What the rule tool reports for a folder: `rule: from -> to`, sorted. */
async function violationsIn(folder: string): Promise<{ cruised: number; violations: string[] }> {
  const { forbidden, options } = await extractDepcruiseConfig(path.join(folder, '.dependency-cruiser.cjs'));
  const { output } = await cruise(
    ['src'],
    { ...options, baseDir: folder, ruleSet: { forbidden: forbidden ?? [] }, validate: true },
    {},
    { tsConfig: extractTSConfig(path.join(folder, 'tsconfig.json')) },
  );
  const { summary } = reportSchema.parse(output);
  return {
    cruised: summary.totalCruised,
    violations: summary.violations.map((one) => `${one.rule.name}: ${one.from} -> ${one.to}`).sort(),
  };
}

// The project itself is held against them by `npm run architecture`, which every run of all checks begins with.
test('a tree that keeps the rules is reported clean', async () => {
  expect(await violationsIn(await plant(cleanTree))).toEqual({
    cruised: Object.keys(cleanTree).length,
    violations: [],
  });
});

const planted: readonly {
  fault: string;
  files: Readonly<Record<string, string>>;
  reported: string | string[];
}[] = [
  {
    fault: 'a cycle',
    files: {
      'src/program/dose.ts': "import { limit } from './limits.js';\nexport const dose = limit;\n",
      'src/program/limits.ts': "import { dose } from './dose.js';\nexport const limit = dose;\n",
    },
    reported: 'no-cycle: src/program/dose.ts -> src/program/limits.ts',
  },
  {
    fault: 'a cycle of types only',
    files: {
      'src/audio/mix.ts':
        "import type { Level } from './level.js';\nexport const mix: Level = 1;\nexport type Mix = number;\n",
      'src/audio/level.ts': "import type { Mix } from './mix.js';\nexport type Level = Mix;\n",
    },
    reported: 'no-cycle: src/audio/level.ts -> src/audio/mix.ts',
  },
  {
    fault: 'a pure room that imports an effectful one',
    files: {
      'src/program/limits.ts': "import { speak } from '../voice/speak.js';\nexport const limit = speak;\n",
    },
    reported: 'pure-imports-only-pure: src/program/limits.ts -> src/voice/speak.ts',
  },
  {
    fault: 'a pure room that reads files',
    files: {
      'src/program/limits.ts':
        "import { readFileSync } from 'node:fs';\nexport const limit = readFileSync;\n",
    },
    reported: 'pure-imports-no-node-module: src/program/limits.ts -> fs',
  },
  {
    fault: 'a pure room that knows a later pure room',
    files: {
      'src/program/limits.ts': "import { place } from '../script/place.js';\nexport const limit = place;\n",
    },
    reported: [
      'no-cycle-of-folders: src/program -> src/script',
      'no-cycle-of-folders: src/script -> src/program',
      'program-does-not-know-later-rooms: src/program/limits.ts -> src/script/place.ts',
    ],
  },
  {
    fault: 'a voice that knows the script',
    files: {
      'src/voice/rate.ts':
        "import type { Cue } from '../script/timedScript.js';\nexport const rate: Cue = 1;\n",
    },
    reported: 'voice-does-not-know-later-rooms: src/voice/rate.ts -> src/script/timedScript.ts',
  },
  {
    fault: 'audio that knows how a script is made',
    files: {
      'src/audio/level.ts': "import { place } from '../script/place.js';\nexport const level = place;\n",
    },
    reported: 'audio-does-not-know-later-rooms: src/audio/level.ts -> src/script/place.ts',
  },
  {
    fault: 'a channel that knows what it carries',
    files: {
      'src/channels/mail.ts': "import { dose } from '../program/dose.js';\nexport const mail = dose;\n",
    },
    reported: 'channels-know-only-errors: src/channels/mail.ts -> src/program/dose.ts',
  },
  {
    fault: 'folders that need each other, though no two files do',
    files: {
      'src/store/people/patients.ts': "export { clock } from '../engine/clock.js';\n",
      'src/store/people/names.ts': 'export const name = 1;\n',
      'src/store/engine/clock.ts': 'export const clock = 1;\n',
      'src/store/engine/open.ts': "export { name } from '../people/names.js';\n",
      'src/session/render.ts':
        "export { clock } from '../store/people/patients.js';\nexport { name } from '../store/engine/open.js';\n",
      'src/cli/main.ts': "export { clock, name } from '../session/render.js';\n",
    },
    reported: [
      'no-cycle-of-folders: src/store/engine -> src/store/people',
      'no-cycle-of-folders: src/store/people -> src/store/engine',
    ],
  },
  {
    fault: 'a room that knows the command line',
    files: { 'src/session/render.ts': "import '../cli/main.js';\n" },
    reported: 'nothing-below-knows-the-clinic: src/session/render.ts -> src/cli/main.ts',
  },
  {
    fault: 'a service that knows the command line',
    files: { 'src/service/start.ts': "import '../cli/main.js';\n" },
    reported: 'service-knows-no-command-line: src/service/start.ts -> src/cli/main.ts',
  },
  {
    fault: 'a command that knows a page',
    files: {
      'src/clinic/people/admit.ts': "export { page } from '../../http/pages/home/page.js';\n",
      'src/http/pages/home/page.ts': 'export const page = 1;\n',
    },
    reported: 'clinic-knows-no-page: src/clinic/people/admit.ts -> src/http/pages/home/page.ts',
  },
  {
    fault: 'a command that speaks HTTP',
    files: {
      'src/clinic/people/admit.ts':
        "import { STATUS_CODES } from 'node:http';\nexport const admit = STATUS_CODES;\n",
    },
    reported: 'clinic-knows-no-http: src/clinic/people/admit.ts -> http',
  },
  {
    fault: 'a store that knows what can be done',
    files: {
      'src/store/people/patients.ts': "export { admit } from '../../clinic/people/admit.js';\n",
      'src/clinic/people/admit.ts': 'export const admit = 1;\n',
    },
    reported: 'nothing-below-knows-the-clinic: src/store/people/patients.ts -> src/clinic/people/admit.ts',
  },
  {
    fault: 'a page that knows how the service starts',
    files: {
      'src/http/app.ts': "export { start } from '../service/start.js';\n",
      'src/service/start.ts': 'export const start = 1;\n',
    },
    reported: 'http-knows-nothing-above: src/http/app.ts -> src/service/start.ts',
  },
  {
    fault: 'a page that knows the invented clinic',
    files: {
      'src/http/app.ts': "export { story } from '../demo/story.js';\n",
      'src/demo/story.ts': 'export const story = 1;\n',
    },
    reported: 'pages-and-demo-apart: src/http/app.ts -> src/demo/story.ts',
  },
  {
    fault: 'a browser that knows the database',
    files: {
      'src/browser/listen/main.ts': "export { row } from '../../store/people/patients.js';\n",
      'src/store/people/patients.ts': 'export const row = 1;\n',
    },
    reported: 'browser-knows-its-contracts-only: src/browser/listen/main.ts -> src/store/people/patients.ts',
  },
  {
    fault: 'a file that nobody uses',
    files: { 'src/files/forgotten.ts': 'export const forgotten = 1;\n' },
    reported: 'no-orphan: src/files/forgotten.ts -> src/files/forgotten.ts',
  },
];

test.each(planted)('$fault is reported, and nothing else', async ({ files, reported }) => {
  const tree = await plant({ ...cleanTree, ...files });
  expect((await violationsIn(tree)).violations).toEqual([reported].flat());
});
