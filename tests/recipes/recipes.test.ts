import { mkdtemp, readFile, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type RunningService, startServe } from '../cli/service.js';
import { isWhole } from '../long.js';
import { spokenFolder } from '../session/spokenFolder.js';
import { addPerson, owner, person, Visitor } from '../support/clinic.js';
import { Scratch } from './scratch.js';
import { changed, missingLine, type Step, sectionOf, stepsOf } from './steps.js';

/**
 * The first hour and the recipes of DEVELOPERS.md, followed to the letter in a copy of the project: each block written
 * to its file, each command run, each printed line compared. The inspection of a session, the types, and the tests that
 * the recipes name run in `npm run test:long` only; they take minutes.
 */
const recipes = [
  'An exercise',
  'A precaution',
  'A measure',
  'A page',
  'An endpoint',
  'A channel',
  'A voice',
  'A timing shape',
  'A language',
];
const isForLong = (command: string) =>
  command.startsWith('npx ') || command.startsWith('npm run -s stillcount -- inspect ');
const isOfSource = (command: string) => command.startsWith('npm run -s stillcount');
/** Far more than they ever take: the machine may be busy. */
const patienceMs = isWhole('recipes') ? 1_800_000 : 180_000;

let developers: string;
let scratch: Scratch;
let spoken: Awaited<ReturnType<typeof spokenFolder>>;
beforeAll(async () => {
  [developers, spoken] = await Promise.all([readFile('DEVELOPERS.md', 'utf8'), spokenFolder()]);
  scratch = await Scratch.open({ STILLCOUNT_DATA: spoken.folder });
});
afterAll(async () => {
  await scratch?.remove();
  await spoken?.giveBack();
});

/** Runs a command of the guide, and compares what it prints. */
async function follow({ command, printed }: Extract<Step, { kind: 'run' }>): Promise<void> {
  if (isForLong(command) && !isWhole('recipes')) return;
  if (command.startsWith('node --inspect-brk')) {
    expect(await scratch.waitsForDebugger(command), command).toBe(true);
    return;
  }
  const { code, stdout, stderr } = await scratch.run(command);
  expect(code, `${command}:\n${stdout}\n${stderr}`).toBe(0);
  expect(missingLine(printed, stdout), `${command} does not print this, but:\n${stdout}`).toBeNull();
}

describe('a diff without line numbers', () => {
  it('changes what is there once, and refuses what is there twice or not at all', () => {
    expect(changed('a\nb\nc\n', [' b', '+d', '-c'])).toBe('a\nb\nd\n');
    expect(() => changed('a\nb\nb\n', ['-b', '+c'])).toThrow('found 2 times');
    expect(() => changed('a\n', ['-b', '+c'])).toThrow('found 0 times');
  });

  it('misses a line that is not printed, printed too early, or after lines that nobody left out', () => {
    expect(missingLine(['a 1', '...', 'c'], 'a 2\nb\nc\n')).toBeNull();
    expect(missingLine(['a', 'c'], 'a\nb\nc\n')).toBe('c');
    expect(missingLine(['...', 'c', '...', 'a'], 'a\nb\nc\n')).toBe('a');
  });
});

describe('the first hour', () => {
  it(
    'goes as it is written',
    async () => {
      const steps = stepsOf(sectionOf(developers, '## The first hour'));
      expect(steps.map(({ kind }) => kind)).toEqual(expect.arrayContaining(['run', 'change']));
      for (const step of steps) {
        if (step.kind === 'run') await follow(step);
        else await scratch.apply(step);
      }
    },
    patienceMs,
  );
});

describe('the recipes', () => {
  const commands = new Map<string, Extract<Step, { kind: 'run' }>[]>();
  let data: string;
  let service: RunningService | undefined;
  let ada: Visitor;
  let patientPath: string;

  // All of them go into one copy: that they do not stand in each other's way is tried on the way.
  beforeAll(async () => {
    data = await mkdtemp(join(tmpdir(), 'stillcount-recipes-clinic-'));
    for (const name of recipes) {
      const later: Extract<Step, { kind: 'run' }>[] = [];
      commands.set(name, later);
      for (const step of stepsOf(sectionOf(developers, `### ${name}`))) {
        if (step.kind !== 'run') await scratch.apply(step);
        else if (isForLong(step.command) || isOfSource(step.command)) later.push(step);
        else await follow(step);
      }
    }
    await scratch.compile();
    service = await startServe(data, {}, ['--new-data'], [], scratch.folder);
    const { address, link } = service;
    ada = new Visitor(() => address);
    await ada.post(new URL(link ?? '').pathname, owner);
    patientPath = await addPerson(ada, person);
  });
  afterAll(async () => {
    service?.child.kill('SIGTERM');
    await service?.gone;
    await rm(data, { recursive: true, force: true });
  });

  const textOf = async (path: string) => {
    const answer = await ada.get(path);
    expect(answer.status, path).toBe(200);
    return answer.text();
  };
  const asked = async (path: string, key: string): Promise<unknown> => {
    const headers = { authorization: `Bearer ${key}` };
    return (await fetch(`${service?.address}/api/v1${path}`, { headers })).json();
  };
  const newKey = async () => {
    const fields = { name: 'Records', password: owner.password };
    const page = await (await ada.submit('/account/keys', fields)).text();
    return /<strong class="long">([\w-]{43})<\/strong>/.exec(page)?.[1] ?? '';
  };

  it('are all that the guide has', () => {
    const headings = [...sectionOf(developers, '## Recipes').matchAll(/^### (.*)$/gm)].map(
      ([, name]) => name,
    );
    expect(headings).toEqual(expect.arrayContaining(recipes));
    for (const name of headings.filter((each) => !recipes.includes(each ?? '')))
      expect(stepsOf(sectionOf(developers, `### ${name}`)), `${name} has steps that no test follows`).toEqual(
        [],
      );
  });

  it.each(recipes)(
    '%s: every command does what the guide says',
    async (name) => {
      for (const step of commands.get(name) ?? []) await follow(step);
    },
    patienceMs,
  );

  it('An exercise: another program finds it in the catalog', async () => {
    expect(await asked('/exercises', await newKey())).toContainEqual(
      expect.objectContaining({ id: 'ankle-circles', name: 'Ankle circles' }),
    );
  });

  it('A precaution: the interview asks for it', async () => {
    expect(await asked('/screening-questions', await newKey())).toContainEqual(
      expect.objectContaining({ id: 'cast', ask: 'Do you have a cast or a splint on now?' }),
    );
  });

  it('A measure: a value is typed, kept and shown', async () => {
    const today = new Date().toISOString().slice(0, 10);
    const fields = {
      entryId: crypto.randomUUID(),
      measureId: 'knee-bend',
      value: '118',
      takenOn: today,
      note: '',
    };
    await ada.submit(`${patientPath}/measures`, fields);
    expect(await textOf(`${patientPath}/measures`)).toMatch(/Knee flexion, lying[\s\S]*118 °/);
  });

  it('A page: it answers', async () => {
    expect(await textOf('/clock')).toMatch(/It is .+ at Quillmere/);
    const guest = await fetch(`${service?.address}/clock`, { redirect: 'manual' });
    expect(guest.headers.get('location')).toBe('/sign-in');
  });

  it('An endpoint: it is in the OpenAPI document, and answers', async () => {
    const key = await newKey();
    expect(await asked('/openapi.json', key)).toHaveProperty(['paths', '/clinic', 'get']);
    expect(await asked('/clinic', key)).toEqual({ name: owner.clinicName, zone: owner.zone });
  });

  it('A channel: it is opened by its setting, and sends', async () => {
    const source = `
      const { openChannels } = await import('./dist/channels/openChannels.js');
      const options = { vapidKeys: {}, pushContact: 'mailto:a@clinic.example', print: null, now: Date.now };
      const channels = await openChannels({ STILLCOUNT_OUTBOX: 'output' }, options);
      const message = { key: 'due:1', short: 'It is time.' };
      console.log(JSON.stringify(await channels.get('outbox').send('ward', message, new AbortController().signal)));`;
    const { stdout, stderr } = await scratch.run(
      `node --input-type=module --eval "${source.replaceAll('"', '\\"')}"`,
    );
    expect(stdout, stderr).toBe('{"outcome":"sent"}\n');
    const name = `ward-${Buffer.from('due:1').toString('base64url')}.txt`;
    expect(await readFile(join(scratch.folder, 'output', name), 'utf8')).toBe('It is time.');
  });
});
