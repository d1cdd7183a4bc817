import { access, readdir, readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { pageNames, pageTitle } from '../../src/text/pageTitles.js';
import { openWords } from '../../src/text/words.js';

/** Everything that people read and hear: templates, words, the guide, the README, commands, settings, API and demos. */
async function readTexts(): Promise<[string, string][]> {
  const folders = [
    [join('src', 'http'), '.mustache'],
    ['audio-templates', '.mustache'],
    ['audio-templates', '.yaml'],
    [join('src', 'guide', 'chapters'), '.md'],
    [join('src', 'text'), '.yaml'],
    [join('src', 'demo'), '.ts'],
    [join('src', 'reminders', 'simulation'), '.yaml'],
    [join('src', 'settings'), '.ts'],
    [join('src', 'cli'), '.ts'],
    [join('src', 'checks'), '.ts'],
    [join('src', 'http', 'api'), '.ts'],
  ] as const;
  const found = await Promise.all(
    folders.map(async ([folder, ending]) =>
      (await readdir(folder, { recursive: true }))
        .filter((name) => name.endsWith(ending))
        .map((name) => join(folder, name)),
    ),
  );
  const files = [...found.flat(), 'README.md'];
  return Promise.all(
    files.map(async (file): Promise<[string, string]> => {
      const text = await readFile(file, 'utf8');
      return [file, file.endsWith('.ts') ? sentencesIn(text) : text];
    }),
  );
}

/** The strings of a module, without its names. */
function sentencesIn(code: string): string {
  return (code.match(/'[^'\n]*'|`[^`]*`/g) ?? []).filter((text) => text.includes(' ')).join('\n');
}

/** The terms in quotes in the last column of the glossary. */
async function retiredTerms(): Promise<string[]> {
  const rows = (await readFile(join('src', 'text', 'GLOSSARY.md'), 'utf8')).match(/^\| .*\|$/gm) ?? [];
  return rows.flatMap((row) =>
    [...(row.split('|')[3] ?? '').matchAll(/"([^"]+)"/g)].map(([, term = '']) => term),
  );
}

/** What the United States writes otherwise (Merriam-Webster), where one spelling is clearly British. */
const british =
  /\b(behaviour|colour|neighbour|grey|practise|judgement|cancelled|travelled|labelled|metre|litre|organise|recognise|centre|licence|e-mail|whilst|per cent|fortnight|afterwards|ticked)\w*/i;

describe('what people read', () => {
  it('calls each thing by its name in the glossary', async () => {
    const retired = await retiredTerms();
    expect(retired.length).toBeGreaterThan(50);
    const texts = await readTexts();
    expect(texts.length).toBeGreaterThan(100);
    const found = texts.flatMap(([file, text]) =>
      retired
        .filter((term) => text.replaceAll(/\{\{[^}]*\}\}/g, '').includes(term))
        .map((term) => `${file}: ${term}`),
    );
    expect(found).toEqual([]);
  });

  it('is spelled as in the United States', async () => {
    const texts = (await readTexts()).map(([file, text]): [string, string] => [
      file,
      text.replaceAll(/<[^>]*>|\{\{[^}]*\}\}|`[^`]*`/g, ''),
    ]);
    expect(
      texts.flatMap(([file, text]) => (british.test(text) ? [`${file}: ${british.exec(text)?.[0]}`] : [])),
    ).toEqual([]);
  });
});

describe('the title of a page', () => {
  it('is there for every page, plain and filled', async () => {
    const { titles } = await openWords();
    const pages = await readdir(join('src', 'http'), { recursive: true });
    for (const name of pageNames) {
      const file = pages.find((each) => each.endsWith(`${name}.mustache`));
      await access(join('src', 'http', file ?? name));
      const named = { name: 'Rosa & Tom' };
      const view = { ...named, patient: named, prescription: { title: 'Mornings' }, heading: 'Not found' };
      const title = pageTitle(titles, name, { ...view, clinicName: 'Quillmere', title: 'Reminders' });
      expect(title, name).toMatch(/^[A-Z][^{}<>]+$/);
    }
    expect(pageTitle(titles, 'measures', { patient: { name: 'Rosa & Tom' } })).toBe('Measures: Rosa & Tom');
  });
});
