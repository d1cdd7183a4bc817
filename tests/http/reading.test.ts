import { randomUUID } from 'node:crypto';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { chartById, lockChart } from '../../src/clinic/people/chart.js';
import { addDays, isoDayIn, wallClockInstant } from '../../src/schedule/wallClock.js';
import { addScreening } from '../../src/store/screening/screenings.js';
import { openSqliteStore } from '../store/databases.js';
import { makeClinic, makePatient } from '../store/people.js';
import {
  answerInterview,
  giveLink,
  openClinicWithPerson,
  owner,
  signShortProgram,
  type TestClinic,
  type Visitor,
} from '../support/clinic.js';
import { formOf } from '../support/forms.js';
import { idOf } from '../support/listener.js';
import { Queries, type Statement } from '../support/queries.js';

const { zone } = owner;
type Patient = { path: string; program: string; link: string };
let queries: Queries;
let clinic: TestClinic;
let ada: Visitor;
let rosa: Patient;
let today: string;

async function withProgram(path: string): Promise<Patient> {
  const program = await signShortProgram(ada, path);
  return { path, program, link: (await giveLink(ada, path)).path };
}

beforeAll(async () => {
  queries = new Queries();
  let patientPath: string;
  ({ clinic, ada, patientPath } = await openClinicWithPerson());
  rosa = await withProgram(patientPath);
  await signShortProgram(ada, rosa.path, { 'program.title': 'Evening program' });
  today = addDays(isoDayIn(Date.now(), zone), 11);
  clinic.clock.aheadMs = wallClockInstant(today, '06:00', zone) - Date.now();
  await ada.post('/sign-in', owner);
  await report(rosa, tenMornings(rosa));
});
afterAll(async () => {
  await clinic.remove();
  queries.end();
});

const nowMs = () => Date.now() + clinic.clock.aheadMs;
const well = { done: 'all', painBefore: 2, painAfter: 2, effort: 3, signs: [] };

function report({ link }: Patient, items: readonly object[]): Promise<Response> {
  return fetch(new URL(`${link}report`, clinic.service.address), {
    method: 'POST',
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify({ sentAtMs: nowMs(), items }),
  });
}

/** Heard to its end, and answered. */
function morning({ path, program }: Patient, back: number, answers: object = well): object[] {
  const day = addDays(today, -back);
  const place = { patientId: idOf(path), prescriptionId: idOf(program), versionNumber: 1 };
  const about = { ...place, sessionNumber: 1, slot: `${day}#1`, listeningId: randomUUID() };
  const atMs = wallClockInstant(day, '09:00', zone);
  const step = { kind: 'step', ...about };
  return [
    { ...step, id: randomUUID(), step: 'started', positionMs: 0, atMs },
    { ...step, id: randomUUID(), step: 'finished', positionMs: 200_000, atMs: atMs + 200_000 },
    { kind: 'check-in', id: randomUUID(), ...about, answers, atMs: atMs + 300_000 },
  ];
}
const tenMornings = (patient: Patient) =>
  [10, 9, 8, 7, 6, 5, 4, 3, 2, 1].flatMap((back) => morning(patient, back));

async function adviceForm(button: string, { path }: Patient): Promise<Record<string, string>> {
  const page = (await (await ada.get(`${path}/advice`)).text()).replaceAll('&quot;', '"');
  const form = [...page.matchAll(/<form [^>]*\/advice" class="stack">(.*?)<\/form>/gs)]
    .map(([, content = '']) => content)
    .find((content) => content.includes(`value="${button}"`));
  if (form === undefined) throw new Error(`no form with ${button}: ${page}`);
  const fields = [...form.matchAll(/name="([^"]+)" value="(.*?)"(?=>| required)/g)];
  const unescaped = (text: string) =>
    text.replaceAll('&#x2F;', '/').replaceAll('&#39;', "'").replaceAll('&#x3D;', '=');
  return Object.fromEntries(fields.map(([, name = '', value = '']) => [name, unescaped(value)]));
}

/**
 * What is asked again once the person is locked, by its table, and why: what was read before may have changed until then,
 * and nothing is written that rests on it.
 */
const askedAgain: Readonly<Record<string, string>> = {
  patient: 'they may have been erased',
  screening: 'somebody may have screened them',
  careBreak: 'a stay in the hospital may have been written down',
  prescription: 'somebody may have signed a version, or the same form may have been sent twice',
  note: 'a note may have come in',
  warning: 'a warning sign may have come in',
  adviceAnswer: 'somebody may have answered, or the same form may have been sent twice',
};
/** Works out from what stands after a change whom the clinic has to see to, whatever the command knew. */
const worksOutAnew = 'refreshAttention src/store/attention/patientChanged.ts';
/** Before anything is written, each transaction asks whether a newer version has upgraded the database. */
const asksForUpgrade = 'kysely_migration';

const isReading = ({ text }: Statement) => /^(select|with)\b/.test(text);
const tablesOf = ({ text }: Statement) =>
  [...text.matchAll(/(?:from|join) "(\w+)"/g)].map(([, name]) => name);
const writtenBy = ({ text }: Statement) =>
  /"revision" = "revision"/.test(text)
    ? undefined
    : /^(?:insert into|update|delete from) "(\w+)"/.exec(text)?.[1];

/** Readings of what a command knew already, in the words of their tables and of who asks. */
function readTwice(statements: readonly Statement[]): string[] {
  return statements.flatMap((each, at) => {
    const before = statements.slice(0, at).findLastIndex((other) => isSame(each, other));
    const earlier = statements[before];
    if (!isReading(each) || earlier === undefined) return [];
    const tables = tablesOf(each);
    const isOther = statements.slice(before, at).some((between) => tables.includes(writtenBy(between)));
    const isRight =
      (each.isLocked && !earlier.isLocked && (tables[0] ?? '') in askedAgain) ||
      each.askedBy.includes(worksOutAnew) ||
      (each.text.includes(asksForUpgrade) && each.transaction !== earlier.transaction);
    return isOther || isRight ? [] : [`${tables[0]}: ${each.askedBy.join(' < ')}`];
  });
}
const isSame = (one: Statement, other: Statement) =>
  one.text === other.text && JSON.stringify(one.parameters) === JSON.stringify(other.parameters);

/**
 * What the clinic has to see to is found beside, every few seconds: a command may meet one reason more, or one fewer.
 */
const foundBeside = 3;

/** Sends a request, and expects that nothing was read twice for it, and how many statements it took when this was written. */
async function measure(
  command: string,
  usual: number,
  request: () => Promise<Response>,
): Promise<Statement[]> {
  const { statements, status } = await queries.of(request);
  expect([200, 303], `${command}: ${status}`).toContain(status);
  expect(readTwice(statements), command).toEqual([]);
  expect(statements.length, command).toBeLessThanOrEqual(usual + foundBeside);
  return statements;
}

/** The rooms on the way from a page to the tables, from the top; the ways of the house lead down. */
const wayDown = [
  /^src\/http\/(?!server\/)/,
  ...['followup', 'listening', 'prescribing', 'screening', 'people', 'resources'].map(
    (room) => new RegExp(`^src/clinic/${room}/`),
  ),
  /^src\/clinic\//,
  /^src\/store\/(?!attention\/|engine\/)/,
  // What a change sets off.
  /^src\/store\/attention\//,
];
const levelOf = (file: string) => wayDown.findIndex((room) => room.test(file));

/** The files that a command goes through from its route to the rows, without the ground of pages and of the store. */
function waysOf(statements: readonly Statement[]): string[][] {
  return statements.map(({ askedBy }) =>
    askedBy
      .map((each) => each.split(' ').at(-1) ?? '')
      .filter((file) => levelOf(file) >= 0)
      .reverse(),
  );
}

/** What a command may pass from its route to the rows. */
const mostFiles = 10;

/** The same for what a clinician does: few files, each nearer to the tables than the one before it. */
async function measureCommand(
  command: string,
  usual: number,
  request: () => Promise<Response>,
): Promise<Statement[]> {
  const statements = await measure(command, usual, request);
  const ways = waysOf(statements);
  const files = new Set(ways.flat());
  expect(files.size, `${command}: ${[...files].join(', ')}`).toBeLessThanOrEqual(mostFiles);
  const climbs = ways.filter((way) => way.some((file, at) => levelOf(file) < levelOf(way[at - 1] ?? file)));
  expect(climbs, `${command}: one way down`).toEqual([]);
  return statements;
}

describe('what commands ask of the database', () => {
  it('is asked once, and again only under the lock, by a way that leads down', async () => {
    await measure('open the page of a person', 21, () => ada.get(rosa.path));
    await measure('first page', 9, () => ada.get('/'));
    await measure('page of advice', 18, () => ada.get(`${rosa.path}/advice`));
    await measure('page of progress', 21, () => ada.get(`${rosa.path}/follow-up`));
    const said = await adviceForm('decline', rosa);
    const step = await adviceForm('accept', rosa);
    const formToken = await ada.formToken();
    await measureCommand('decline advice', 22, () =>
      ada.post(`${rosa.path}/advice`, { ...said, do: 'decline', reason: 'She would rather wait' }),
    );
    const accepted = await measureCommand('accept advice', 50, () =>
      ada.post(`${rosa.path}/advice`, { ...step, do: 'accept' }),
    );
    const known = accepted
      .filter((each) => isReading(each) && !each.isLocked)
      .map((each) => tablesOf(each)[0]);
    expect(
      known.filter((table) => table === 'patient'),
      'the person is read once',
    ).toHaveLength(1);
    await measure('listener opens plan', 15, () => ada.get(`${rosa.link}plan.json`));
    await measure('check-in with note', 29, () =>
      report(rosa, morning(rosa, 0, { ...well, note: 'A fine morning' })),
    );
    const [id] = [...(await (await ada.get(rosa.path)).text()).matchAll(/name="note" value="([^"]+)"/g)];
    await measureCommand('read a note', 21, () =>
      ada.post(`${rosa.path}/notes`, { formToken, note: id?.[1] ?? '' }),
    );
    await measure('warning', 42, () => report(rosa, morning(rosa, 0, { ...well, signs: ['chest-pain'] })));
    await measure('first page with a warning', 10, () => ada.get('/'));
    await measureCommand('answer a warning', 21, () =>
      ada.post(`${rosa.path}/warnings`, {
        formToken,
        seenUpToMs: String(nowMs()),
        outcome: 'go-on',
        note: 'I called her; all is well',
      }),
    );
    const next = await formOf(await ada.get(`${rosa.program}/change`));
    await measure('page of prescribing', 9, () => ada.get(`${rosa.program}/change`));
    await measureCommand('sign a new version', 36, () =>
      ada.post(`${rosa.program}/change`, {
        ...next,
        'program.exercises.0.dose.reps': '6',
        reason: 'A little less',
        do: 'sign',
      }),
    );
    await measure('page of a program', 8, () => ada.get(rosa.program));
    const taken = {
      ...{ formToken, entryId: randomUUID(), measureId: 'occiput-to-wall', value: '6.5' },
      ...{ takenOn: today, note: '', confirmed: '' },
    };
    await measureCommand('enter a measure', 8, () => ada.post(`${rosa.path}/measures`, taken));
    await measureCommand('give a link', 14, () => ada.post(`${rosa.path}/link`, { formToken }));
    const review = await answerInterview(ada, rosa.path, []);
    await measureCommand('take a screening', 33, () => ada.post(review, { formToken }));
    await measureCommand('pause a program', 27, () =>
      ada.post(`${rosa.program}/state`, { formToken, state: 'paused', reason: 'She is on a journey' }),
    );
    await measureCommand('end a program', 28, () =>
      ada.post(`${rosa.program}/state`, { formToken, state: 'ended', reason: 'She is on a journey' }),
    );
  });
});

describe('the chart of a person', () => {
  it('is the same for whoever reads it, and opened anew with the lock', async () => {
    const { store, close } = await openSqliteStore();
    try {
      const { clinicId, clinicianId } = await store.write((db) => makeClinic(db, 1));
      const patientId = await store.write((db) => makePatient(db, clinicId, 1));
      const chart = await chartById(store, clinicId, patientId);
      expect(await chart.screening()).toBeNull();
      const taken = { patientId, answers: '{}', stops: false, clinicianId, nowMs: 2 };
      const id = await store.write((db) => addScreening(db, taken));
      expect(await chart.screening(), 'as it was at the door').toBeNull();
      const locked = await store.write(async (db) => (await lockChart(db, chart)).screening());
      expect(locked?.id, 'as it is when something is written').toBe(id);
    } finally {
      await close();
    }
  });
});
