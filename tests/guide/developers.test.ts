import { readdir, readFile } from 'node:fs/promises';
import { dirname, join, normalize } from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import { sectionOf, stepsOf } from '../recipes/steps.js';

/** What contributors read: DEVELOPERS.md, the README beside the code of a room, and what the benches measured. */
type Document = { path: string; text: string; prose: string };

let documents: Document[];
/** Every file and folder of the project, from its root. */
let paths: Set<string>;
let scripts: Set<string>;
/** The text of all sources and templates. */
let sources: string;

beforeAll(async () => {
  const folders = ['audio-templates', 'scripts', 'src', 'tests'];
  const below = await Promise.all(
    folders.map(async (folder) => {
      const names = await readdir(folder, { recursive: true });
      return [folder, ...names.map((name) => join(folder, name).replaceAll('\\', '/'))];
    }),
  );
  paths = new Set([...(await readdir('.')), ...below.flat()]);
  const readmes = [...paths].filter((path) => /^src\/.*\/README[.]md$/.test(path));
  documents = await Promise.all(
    ['DEVELOPERS.md', 'scripts/bench/RESULTS.md', ...readmes].map(async (path) => {
      const text = await readFile(path, 'utf8');
      return { path, text, prose: text.replaceAll(/^```[\s\S]*?^```$/gm, '') };
    }),
  );
  const description = JSON.parse(await readFile('package.json', 'utf8')) as {
    scripts: Record<string, string>;
  };
  scripts = new Set(Object.keys(description.scripts));
  const named = [...paths].filter((path) => /[.](ts|mjs|yaml|mustache)$/.test(path));
  sources = (await Promise.all(named.map((path) => readFile(path, 'utf8')))).join('\n');
});

const words = (text: string) => text.trim().split(/\s+/).length;
const codeIn = (prose: string) => [...prose.matchAll(/`([^`\n]+)`/g)].map(([, code = '']) => code);

/** A file that the block below it creates or changes. */
const blockFile = /`[^`\n]+`:$/gm;

/** What only a running service or a command makes. */
const madeLater = /^(output|dist)\b|^session[.]|^\/|^clinic[.]db$/;

/** Whether a piece of code in a text names a file or folder of the project; then it is returned without its placeholders. */
function pathIn(code: string): string | null {
  if (!/^[\w.@/-]+$/.test(code) || madeLater.test(code) || /NAME|NUMBER/.test(code)) return null;
  const isFile = /[\w-][.](ts|mts|mjs|cjs|md|yaml|mustache|json|txt|sql)$/.test(code);
  const isFolder = /^(src|tests|scripts|audio-templates)\//.test(code);
  return isFile || isFolder ? code.replace('/LANG/', '/en/').replace(/\/$/, '') : null;
}

/** A README names files from its own folder or from the root; tests and templates may be named by the end of their path. */
function exists(path: string, document: string): boolean {
  if (paths.has(path) || paths.has(join(dirname(document), path))) return true;
  const mayBeShort = document !== 'DEVELOPERS.md' || path.endsWith('.test.ts');
  return mayBeShort && [...paths].some((each) => each.endsWith(`/${path}`));
}

describe('what contributors read', () => {
  it('names only files and folders that there are', () => {
    const missing = documents.flatMap(({ path, prose }) =>
      codeIn(path === 'DEVELOPERS.md' ? prose.replaceAll(blockFile, '') : prose)
        .flatMap((code) => pathIn(code) ?? [])
        .filter((named) => !exists(named, path))
        .map((named) => `${path}: ${named}`),
    );
    expect(missing).toEqual([]);
  });

  it('links only to what there is, and DEVELOPERS.md to every other one', () => {
    const targets = documents.flatMap(({ path, prose }) =>
      [...prose.matchAll(/\]\(([^)]+)\)/g)].map(([, to = '']) => ({
        path,
        to: normalize(join(dirname(path), to)),
      })),
    );
    for (const { path, to } of targets) expect(paths.has(to), `${path} links to ${to}`).toBe(true);
    const linked = targets.filter(({ path }) => path === 'DEVELOPERS.md').map(({ to }) => to);
    expect(linked).toEqual(expect.arrayContaining(documents.slice(1).map(({ path }) => path)));
  });

  it('names only scripts of npm that there are', () => {
    const ofNpm = ['ci', 'pack', 'version'];
    for (const { path, text, prose } of documents) {
      const fences = [...text.matchAll(/^```[\s\S]*?^```$/gm)].map(([fence]) => fence);
      for (const code of [...codeIn(prose), ...fences])
        for (const [, run, name = ''] of code.matchAll(/\bnpm (run (?:-s )?)?([a-z][a-z:-]*)/g))
          expect(run === undefined ? [...ofNpm, 'test', 'start'] : [...scripts], path).toContain(name);
    }
  });

  it('names only identifiers that the code has', () => {
    for (const { path, prose } of documents)
      for (const code of codeIn(prose).filter((each) => /^[a-z]+[A-Z]\w*$/.test(each)))
        expect(new RegExp(`\\b${code}\\b`).test(sources), `${path}: ${code}`).toBe(true);
  });

  it('names in its commands only files that there are, or that a step before made', () => {
    const [guide] = documents;
    for (const heading of ['## The first hour', '## Recipes']) {
      const made = new Set<string>();
      for (const step of stepsOf(sectionOf(guide?.text ?? '', heading))) {
        if (step.kind === 'create') made.add(step.file);
        if (step.kind === 'change')
          expect(paths.has(step.file) || made.has(step.file) || isCopied(step.file)).toBe(true);
        if (step.kind !== 'run') continue;
        const into = / > (\S+)$/.exec(step.command)?.[1] ?? /^cp -r \S+ (\S+)$/.exec(step.command)?.[1];
        if (into !== undefined) made.add(into);
        for (const [named] of step.command.matchAll(/\b(src|tests|audio-templates|scripts)\/[\w./-]+/g))
          expect(paths.has(named) || made.has(named), `${step.command}: ${named}`).toBe(true);
      }
    }
  });

  it('shows a way that the request really takes, from file to file', async () => {
    const section = sectionOf(documents[0]?.text ?? '', '## How a request travels');
    const route = /`POST ([^`]+)`/.exec(section)?.[1] ?? '';
    for (const [from, to] of way) {
      expect(section).toContain(`\`${to}\``);
      const text = await readFile(from, 'utf8');
      const imported = [...text.matchAll(/from '([.][^']+)[.]js'/g)].map(([, name = '']) =>
        join(dirname(from), `${name}.ts`),
      );
      expect(imported, from).toContain(to);
    }
    expect(await readFile('src/http/pages/patient/patient.ts', 'utf8')).toContain(`'post', '${route}'`);
  });

  it('is short: DEVELOPERS.md at most 6,200 words, a README at most 750', () => {
    for (const { path, text } of documents.filter((each) => each.path !== 'scripts/bench/RESULTS.md'))
      expect(words(text), path).toBeLessThanOrEqual(path === 'DEVELOPERS.md' ? 6_200 : 750);
  });
});

/** Which file calls which, in the section on a request. */
const way: readonly (readonly [string, string])[] = [
  ['src/http/app.ts', 'src/http/server/security.ts'],
  ['src/http/app.ts', 'src/http/pages/patient/patient.ts'],
  ['src/http/pages/patient/patient.ts', 'src/http/server/routing.ts'],
  ['src/http/pages/patient/patient.ts', 'src/clinic/people/care.ts'],
  ['src/clinic/people/care.ts', 'src/store/people/caregivers.ts'],
  ['src/store/people/caregivers.ts', 'src/store/attention/patientChanged.ts'],
  ['src/clinic/people/care.ts', 'src/store/accounts/audit.ts'],
  ['src/http/app.ts', 'src/http/server/errorResponse.ts'],
  ['src/http/api/endpoints/care.ts', 'src/clinic/people/care.ts'],
];

/** The recipe of a language copies a whole folder. */
const isCopied = (file: string) => paths.has(file.replace(/^audio-templates\/\w+\//, 'audio-templates/en/'));
