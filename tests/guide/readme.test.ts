import { spawn } from 'node:child_process';
import { readFile } from 'node:fs/promises';
import { resolve } from 'node:path';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { finished, runStillcount } from '../cli/runStillcount.js';
import { spokenFolder } from '../session/spokenFolder.js';

let readme: string;
let spoken: Awaited<ReturnType<typeof spokenFolder>>;
beforeAll(async () => {
  readme = await readFile('README.md', 'utf8');
  spoken = await spokenFolder();
});
afterAll(() => spoken.giveBack());

/** What README shows to be typed, each with the text that it shows to be printed. */
function shown(): { typed: string; printed: string[] }[] {
  const blocks = [...readme.matchAll(/^```console\n([\s\S]*?)^```$/gm)].map(([, text = '']) => text);
  return blocks.flatMap((text) =>
    text
      .split(/^\$ /m)
      .slice(1)
      .map((part) => {
        const [typed = '', ...printed] = part.trimEnd().split('\n');
        return { typed, printed };
      }),
  );
}

/**
 * The part of `npm run demo` that comes after the packages are there, and `stillcount` compiled instead of from the
 * source: what is printed is the same. `npm test` and `npm start` cannot run in a test; their scripts are looked for.
 */
function run(typed: string): Promise<{ code: number | null; stdout: string; stderr: string }> {
  const environment = { STILLCOUNT_DATA: spoken.folder };
  if (typed === 'npm run demo') {
    const env = { ...process.env, ...environment };
    return finished(
      spawn(process.execPath, ['--import', 'tsx', resolve('scripts', 'demo', 'main.ts')], { env }),
    );
  }
  const words = /^npm run -s stillcount -- (.*)$/.exec(typed)?.[1]?.split(' ');
  if (words === undefined) throw new Error(`README shows a command that no test knows: ${typed}`);
  return runStillcount(words, environment);
}

/** Lengths and levels differ a little from one encoder to another; everything else has to be the same. */
const measured = (line: string) =>
  line
    .trimEnd()
    .replaceAll(/-?\d+([.]\d+)?(?= (min|s|MB|LUFS|ms)\b)/g, 'N')
    .replaceAll(/ +/g, ' ');

it('prints what README shows, line by line; "..." stands for lines that are left out', async () => {
  expect(shown().map(({ typed }) => typed)).toEqual(
    expect.arrayContaining(['npm run demo', 'npm run -s stillcount -- guide --list']),
  );
  for (const { typed, printed } of shown()) {
    const { code, stdout, stderr } = await run(typed);
    expect(code, `${typed}: ${stderr}`).toBe(0);
    const lines = stdout.split('\n').map(measured);
    let at = 0;
    let mayLeaveOut = false;
    for (const line of printed) {
      if (line === '...') {
        mayLeaveOut = true;
        continue;
      }
      const found = lines.indexOf(measured(line), at);
      expect(found, `${typed} prints no: ${line}`).not.toBe(-1);
      if (!mayLeaveOut) expect(found, `${typed}: lines before ${line} are left out without a word`).toBe(at);
      at = found + 1;
      mayLeaveOut = false;
    }
  }
});

it('shows only scripts of npm that there are, and pictures that there are', async () => {
  const { scripts } = JSON.parse(await readFile('package.json', 'utf8')) as {
    scripts: Record<string, string>;
  };
  const named = [...readme.matchAll(/\bnpm (?:run (?:-s )?)?(demo|test|start|stillcount)\b/g)].map(
    ([, name = '']) => name,
  );
  expect(new Set(named)).toEqual(new Set(['demo', 'test', 'start', 'stillcount']));
  for (const name of named) expect(scripts[name], name).toBeDefined();
  for (const [, file = ''] of readme.matchAll(/\]\(([\w/.-]+)\)/g)) await readFile(file);
});

it('has at most 900 words, 350 of them before the cautions, says its job first, and keeps every caution', () => {
  const wordsIn = (text: string) => text.trim().split(/\s+/).length;
  const [before = '', cautions = ''] = readme.split('## Limits and cautions');
  expect(wordsIn(readme)).toBeLessThanOrEqual(900);
  expect(wordsIn(before)).toBeLessThanOrEqual(350);
  const [, job = ''] = before.split('\n\n');
  for (const part of ['physical therapist', 'osteoporosis', 'spoken session', 'MP3'])
    expect(job).toContain(part);
  for (const caution of [
    'not medical advice',
    'local rules',
    'chest pain or pressure, fainting',
    'same day',
    'A reminder is not guaranteed',
    'Nothing here moves a dose up by itself',
    'not after a vertebral fracture',
    'safety net, not an examination',
    'changes only what its rule states',
    'It has not seen the person',
    'does not reach earlier backups',
    'not to use the page to get help in an emergency',
    'only where a mail server is set up',
    'check for changes only once a day',
    'not for the floor',
    'English only',
    'in Chromium only',
    'cannot be recalled',
    'about 3 dB louder',
    'hold names',
  ])
    expect(cautions).toContain(caution);
});
