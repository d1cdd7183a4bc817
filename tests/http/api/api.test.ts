import { Validator } from '@seriousme/openapi-schema-validator';
import { Ajv2020, type ValidateFunction } from 'ajv/dist/2020.js';
import addFormats from 'ajv-formats';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { z } from 'zod';
import { answerCodes } from '../../../src/errors/refusalCodes.js';
import {
  linkForAnotherClinic,
  openClinicWithPerson,
  owner,
  type TestClinic,
  Visitor,
} from '../../support/clinic.js';
import { formOf } from '../../support/forms.js';

/**
 * The API against its own document: the document is judged by an OpenAPI validator, every answer by a JSON Schema
 * validator with the schema that the document gives for it (OpenAPI 3.1 and JSON Schema 2020-12).
 */

const documentSchema = z.object({
  paths: z.record(
    z.string(),
    z.record(
      z.string(),
      z.object({
        responses: z.record(
          z.string(),
          z.object({
            content: z
              .record(z.string(), z.object({ schema: z.record(z.string(), z.unknown()).optional() }))
              .optional(),
          }),
        ),
      }),
    ),
  ),
  components: z.object({ schemas: z.record(z.string(), z.record(z.string(), z.unknown())) }),
});

let clinic: TestClinic;
let ada: Visitor;
let patientId: string;
let document: z.infer<typeof documentSchema>;
let key: string;
const called = new Set<string>();

beforeAll(async () => {
  let patientPath: string;
  ({ clinic, ada, patientPath } = await openClinicWithPerson());
  patientId = patientPath.split('/')[2] ?? '';
  document = documentSchema.parse(
    await (await fetch(`${clinic.service.address}/api/v1/openapi.json`)).json(),
  );
  key = await keyOf(ada, { mayWrite: 'yes' });
});
afterAll(() => clinic.remove());

async function keyOf(visitor: Visitor, fields: Record<string, string>): Promise<string> {
  const page = await (
    await visitor.submit('/account/keys', {
      name: 'Records system',
      password: owner.password,
      ...fields,
    })
  ).text();
  const found = /<strong class="long">([\w-]{43})<\/strong>/.exec(page)?.[1];
  if (found === undefined) throw new Error('no key was made');
  return found;
}

const ajv = addFormats.default(new Ajv2020({ strict: false }));
const validators = new Map<string, ValidateFunction>();

/** Sends a request and judges its answer by the document. */
async function call(
  method: string,
  path: string,
  more: { params?: Record<string, string>; query?: string; body?: unknown; token?: string } = {},
): Promise<{ status: number; body: unknown }> {
  const filled = path.replace(/\{(\w+)\}/g, (_match, name: string) => more.params?.[name] ?? '');
  const response = await fetch(`${clinic.service.address}/api/v1${filled}${more.query ?? ''}`, {
    method: method.toUpperCase(),
    headers: { authorization: `Bearer ${more.token ?? key}`, 'content-type': 'application/json' },
    ...(more.body === undefined ? {} : { body: JSON.stringify(more.body) }),
  });
  const isJson = response.headers.get('content-type')?.startsWith('application/json');
  const text = isJson ? await response.text() : '';
  const body: unknown = isJson ? JSON.parse(text) : Buffer.from(await response.arrayBuffer());
  const described = document.paths[path]?.[method]?.responses[String(response.status)];
  expect(described, `${method} ${path} answers ${response.status}: ${text}`).toBeDefined();
  if (response.status < 300) called.add(`${method} ${path}`);
  const schema = described?.content?.['application/json']?.schema;
  if (schema === undefined) expect(text).toBe('');
  else {
    const place = `${method} ${path} ${response.status}`;
    const validate = validators.get(place) ?? ajv.compile({ ...schema, components: document.components });
    validators.set(place, validate);
    expect(validate(body), `${place}: ${JSON.stringify(validate.errors)}`).toBe(true);
  }
  return { status: response.status, body };
}

const made = (answer: { body: unknown }) => z.object({ id: z.string() }).parse(answer.body).id;

describe('the document', () => {
  it('is OpenAPI 3.1 for an independent validator, and a damaged one is not', async () => {
    const judged = await new Validator().validate(JSON.parse(JSON.stringify(document)));
    expect(judged.valid, 'without its head').toBe(false);
    const whole: unknown = await (await fetch(`${clinic.service.address}/api/v1/openapi.json`)).json();
    const result = await new Validator().validate(z.record(z.string(), z.unknown()).parse(whole));
    expect(result.errors).toBeUndefined();
    const { Problems } = z.object({ components: z.object({ schemas: z.looseObject({}) }) }).parse(whole)
      .components.schemas;
    expect(Problems, 'every code that an answer can have').toMatchObject({
      properties: {
        code: { enum: answerCodes },
        problems: { items: { properties: { code: { enum: answerCodes } } } },
      },
    });
    expect(result.valid).toBe(true);
  });
});

describe('the API', () => {
  it('does everything that the pages do, and every answer is as the document says', async () => {
    const person = { name: 'Ida Falk', zone: 'Europe/Vienna', birthYear: 1941, goals: ['Sleep through'] };
    const added = await call('post', '/people', { body: person });
    expect(added.status).toBe(201);
    const id = made(added);
    const params = { id };
    expect((await call('get', '/people/{id}', { params })).body).toMatchObject({
      ...person,
      spokenName: 'Ida',
    });
    const changed = await call('put', '/people/{id}', {
      params,
      body: { ...person, phone: '1', revision: 1 },
    });
    expect(changed.body).toMatchObject({ phone: '1', revision: 2 });
    const late = await call('put', '/people/{id}', { params, body: { ...person, revision: 1 } });
    expect(late.status).toBe(409);
    expect((await call('post', '/people/search', { body: { q: 'falk' } })).body).toMatchObject({
      people: [{ id }],
    });
    expect(JSON.stringify((await call('get', '/attention')).body)).toContain('to-screen');

    const questions = z
      .array(z.object({ id: z.string() }))
      .parse((await call('get', '/screening-questions')).body);
    const no = Object.fromEntries(questions.map((question) => [question.id, { answer: 'no' }]));
    const answers = { ...no, osteoporosis: { answer: 'yes', details: 'since 2019' } };
    expect((await call('post', '/people/{id}/screenings', { params, body: { answers } })).status).toBe(201);
    expect((await call('get', '/people/{id}/screenings', { params })).body).toMatchObject([{ answers }]);

    const caregiver = await call('post', '/people/{id}/caregivers', { params, body: { name: 'Tom Falk' } });
    const caregiverId = made(caregiver);
    const consent = { kind: 'caregiver-reminded', caregiverId, isGiven: true, onDate: '2026-11-20' };
    expect((await call('post', '/people/{id}/consents', { params, body: consent })).status).toBe(204);
    expect((await call('get', '/people/{id}/consents', { params })).body).toMatchObject([consent]);
    expect((await call('get', '/people/{id}/caregivers', { params })).body).toMatchObject([
      { name: 'Tom Falk' },
    ]);
    const ended = { params: { id, caregiverId } };
    expect((await call('delete', '/people/{id}/caregivers/{caregiverId}', ended)).status).toBe(204);
    expect((await call('delete', '/people/{id}/caregivers/{caregiverId}', ended)).status).toBe(404);

    expect(JSON.stringify((await call('get', '/exercises')).body)).toContain('head-press');
    expect(JSON.stringify((await call('get', '/starters')).body)).toContain('"first"');
    const content = z
      .record(z.string(), z.unknown())
      .parse((await call('get', '/starters/{id}', { params: { id: 'first' } })).body);
    const attested = { ...content, settlements: { 'osteoporosis-stretch': { isArranged: true } } };
    const machine = await call('post', '/people/{id}/draft', { params, body: attested });
    expect(machine.status, 'only a clinician says that a precaution is settled').toBe(400);
    const preview = await call('post', '/people/{id}/preview', { params, body: content });
    expect(preview.body).toMatchObject({
      findings: [{ rule: 'osteoporosis-stretch' }, { rule: 'osteoporosis-moving' }],
    });
    const order = [{ exercise: 'out-of-bed' }, { exercise: 'heel-slide' }];
    const impossible = { ...content, program: { ...Object(content.program), exercises: order } };
    for (const path of ['/people/{id}/preview', '/people/{id}/session', '/people/{id}/draft']) {
      const refused = await call('post', path, { params, body: impossible });
      const problem = {
        path: 'exercises[1].exercise',
        found: 'place 2, standing',
        allowed: 'a place before “Getting out of bed”, at most place 1',
      };
      expect([refused.status, refused.body], path).toMatchObject([400, { problems: [problem] }]);
    }
    const short = {
      ...content,
      program: { ...Object(content.program), exercises: [{ exercise: 'quiet-breathing' }] },
    };
    const sound = await call('post', '/people/{id}/session', { params, body: short });
    expect(Object(sound.body).subarray(0, 3).toString(), 'an ID3 tag begins it').toBe('ID3');
    const handedIn = await call('post', '/people/{id}/draft', { params, body: content });
    const { signAt } = z.object({ signAt: z.string() }).parse(handedIn.body);
    expect((await call('post', '/people/{id}/draft', { params, body: content })).status, 'it waits').toBe(
      409,
    );
    expect(await (await ada.get('/')).text()).toContain('Program for Ida Falk');
    const form = await formOf(await ada.get(signAt));
    expect((await ada.post(signAt, { ...form, reason: 'x', do: 'sign' })).status, 'not settled').toBe(400);
    const arranged = Object.keys(form)
      .filter((name) => /^settlements\..*\.exercises$/.test(name))
      .map((name) => [name.replace(/exercises$/, 'isArranged'), 'yes']);
    const sure = { ...form, ...Object.fromEntries(arranged), reason: 'First visit', do: 'sign' };
    const signed = await ada.post(signAt, sure);
    const prescriptionId = signed.headers.get('location')?.split('/')[2] ?? '';
    const own = { params: { id: prescriptionId } };
    const next = { content: { ...content, timesADay: 2, timesOfDay: ['08:00', '17:30'] }, basedOn: 1 };
    const oneTime = { ...next, content: { ...next.content, timesOfDay: ['08:00'] } };
    const refused = await call('post', '/prescriptions/{id}/draft', { ...own, body: oneTime });
    expect([refused.status, refused.body]).toEqual([
      400,
      expect.objectContaining({ problems: [expect.objectContaining({ path: 'timesOfDay' })] }),
    ]);
    expect((await call('post', '/prescriptions/{id}/draft', { ...own, body: next })).body).toEqual({
      signAt: `/prescriptions/${prescriptionId}/change`,
    });
    expect(await call('post', '/prescriptions/{id}/draft', { ...own, body: next })).toMatchObject({
      status: 409,
      body: { code: 'draft-exists', problems: [] },
    });
    const pause = { state: 'paused', reason: 'Holiday' };
    expect((await call('post', '/prescriptions/{id}/state', { ...own, body: pause })).status).toBe(204);
    const code = 'step-not-possible';
    expect(await call('post', '/prescriptions/{id}/state', { ...own, body: pause })).toMatchObject({
      status: 400,
      body: { code, problems: [{ code, path: 'state', found: expect.any(String) }] },
    });
    const resume = { ...pause, state: 'active' };
    expect((await call('post', '/prescriptions/{id}/state', { ...own, body: resume })).status).toBe(400);
    expect((await call('get', '/prescriptions/{id}', own)).body).toMatchObject({
      personId: id,
      state: 'paused',
      problems: [],
      versions: [{ number: 1, reason: 'First visit', signedByName: 'Ada Brandt' }],
    });
    expect((await call('get', '/people/{id}/prescriptions', { params })).body).toMatchObject([
      { id: prescriptionId, newestVersion: 1 },
    ]);
    const kept = await call('post', '/prescriptions/{id}/keep', { ...own, body: { title: 'Our start' } });
    const starter = { params: { id: made(kept) } };
    const shared = JSON.stringify((await call('get', '/starters/{id}', starter)).body);
    expect(shared).toContain('Our start');
    expect(shared, 'nothing about the person').not.toMatch(/Ida|settlements":\{"/);
    expect((await call('delete', '/starters/{id}', starter)).status).toBe(204);
    expect(JSON.stringify((await call('get', '/colleagues')).body)).not.toContain('argon2');
    const trail = JSON.stringify((await call('get', '/trail', { query: `?personId=${id}` })).body);
    expect(trail).toContain('"accessKeyName":"Records system"');
    expect(trail).toContain('prescription-signed');
    expect(trail).toContain('draft-handed-in');
    expect(await (await ada.get(`/records?patient=${id}`)).text()).toContain(
      'Ada Brandt, through Records system',
    );

    const bundle = z
      .object({ entry: z.array(z.object({ resource: z.object({ resourceType: z.string() }) })) })
      .parse((await call('get', '/people/{id}/fhir', { params })).body);
    const kinds = bundle.entry.map(({ resource }) => resource.resourceType);
    expect(kinds).toEqual(expect.arrayContaining(['Patient', 'CarePlan', 'ServiceRequest', 'RelatedPerson']));
    const archive = Object((await call('get', '/people/{id}/record', { params })).body);
    expect(archive.subarray(0, 4).toString('latin1'), 'a ZIP archive begins so').toBe('PK\u0003\u0004');
    expect((await call('get', '/people/{id}/record', { params: { id: 'nobody' } })).status).toBe(404);

    const described = Object.entries(document.paths).flatMap(([path, methods]) =>
      Object.keys(methods).map((method) => `${method} ${path}`),
    );
    expect([...called].sort(), 'nothing in the document was left out here').toEqual(described.sort());
  });

  it('names the path of what is wrong, and changes nothing', async () => {
    const wrong: readonly [unknown, string][] = [
      [{ name: 'X', zone: 'Mars/Base' }, 'body.zone'],
      [{ name: 'X', zone: 'UTC', birthYear: '1941' }, 'body.birthYear'],
      [{ name: 'X', zone: 'UTC', shoeSize: 42 }, 'body.shoeSize'],
      [[], 'body'],
      ['text', 'body'],
      [undefined, 'body.name'],
    ];
    for (const [body, path] of wrong) {
      const answer = await call('post', '/people', { body });
      expect([answer.status, JSON.stringify(answer.body)], JSON.stringify(body)).toEqual([
        400,
        expect.stringContaining(`"path":"${path}"`),
      ]);
    }
    const headers = { authorization: `Bearer ${key}`, 'content-type': 'application/json' };
    const send = (body: string) =>
      fetch(`${clinic.service.address}/api/v1/people`, { method: 'POST', headers, body });
    expect((await send('{"name":')).status).toBe(400);
    expect((await send(JSON.stringify({ name: 'x'.repeat(400_000) }))).status).toBe(413);
    expect((await call('get', '/trail', { query: '?shoe=42' })).status).toBe(400);
    expect((await call('post', '/people/search', { body: { q: 'X' } })).body).toEqual({
      people: [],
      next: null,
    });
    expect((await call('post', '/people/search', { body: { q: 'a\0b' } })).status).toBe(400);
    expect((await call('get', '/trail', { query: '?personId=%00' })).status).toBe(400);
    const future = { kind: 'reminders', caregiverId: null, isGiven: true, onDate: '2999-01-01' };
    const consents = { params: { id: patientId }, body: future };
    expect((await call('post', '/people/{id}/consents', consents)).status).toBe(400);
    const stray = { ...future, kind: 'caregiver-reminded', onDate: '2026-11-20' };
    expect((await call('post', '/people/{id}/consents', { ...consents, body: stray })).status).toBe(400);
  });

  it('is closed to whoever has no key, another clinic’s, an ended one, or only a cookie', async () => {
    const params = { id: patientId };
    for (const token of ['', 'guess', 'A'.repeat(43)]) {
      expect((await call('get', '/people/{id}', { params, token })).status).toBe(401);
    }
    const withCookie = await ada.get(`/api/v1/people/${patientId}`);
    expect([withCookie.status, withCookie.headers.get('www-authenticate')]).toEqual([401, 'Bearer']);

    const reads = await keyOf(ada, {});
    expect((await call('get', '/people/{id}', { params, token: reads })).status).toBe(200);
    const body = { name: 'Y', zone: 'UTC' };
    expect((await call('post', '/people', { body, token: reads })).status).toBe(403);

    const account = await (await ada.get('/account')).text();
    const ends = [...account.matchAll(/\/account\/keys\/[\w-]{36}\/end/g)].map(([path]) => path);
    expect(ends).toHaveLength(2);
    const link = await linkForAnotherClinic(clinic);
    const eve = new Visitor(() => clinic.service.address);
    await eve.post(new URL(link).pathname, { ...owner, email: 'eve@example.org' });
    expect((await eve.submit(ends[0] ?? '', {})).status, 'somebody else’s key').toBe(404);
    const foreign = await keyOf(eve, { mayWrite: 'yes' });
    expect((await call('get', '/people/{id}', { params, token: foreign })).status).toBe(404);
    const caregivers = { params, token: foreign, body: { name: 'Eve' } };
    expect((await call('post', '/people/{id}/caregivers', caregivers)).status).toBe(404);

    for (const path of ends) expect((await ada.submit(path, {})).status).toBe(303);
    expect((await call('get', '/people/{id}', { params, token: reads })).status).toBe(401);
    expect((await call('get', '/people/{id}', { params })).status).toBe(401);
    for (const secret of [key, reads, foreign, patientId]) {
      expect(clinic.logged.join('\n'), 'nothing of it is logged').not.toContain(secret);
    }
  });
});
