import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { hashToken, newToken } from '../../src/clinic/tokens.js';
import { openLog } from '../../src/log/log.js';
import { type StartedService, startService } from '../../src/service/start.js';
import type { StartOptions } from '../../src/service/startContext.js';
import { inviteFirstOwner } from '../../src/store/accounts/clinicians.js';
import { openStore } from '../../src/store/engine/openStore.js';
import { formOf } from './forms.js';
import { shareSpoken } from './spokenCache.js';

/** A service on a folder of its own, with everything that it logged. */
export type TestClinic = {
  /** What the service's clock is ahead of the real one; may be changed at any time. */
  clock: { aheadMs: number };
  service: StartedService;
  logged: string[];
  folder: string;
  /** Stops the service and starts it anew on the same folder. */
  restart(): Promise<void>;
  remove(): Promise<void>;
};

export const owner = {
  clinicName: 'Quillmere',
  zone: 'Europe/Vienna',
  name: 'Ada Brandt',
  email: 'ada@example.org',
  password: 'four quiet words here',
};

/**
 * @param more further settings, such as another database
 * @param options how the service is started
 */
export async function openTestClinic(
  more: NodeJS.ProcessEnv = {},
  options: StartOptions = {},
): Promise<TestClinic> {
  const folder = await mkdtemp(join(tmpdir(), 'stillcount-clinic-'));
  shareSpoken(folder);
  const logged: string[] = [];
  const log = openLog({ write: (line) => void logged.push(line.trimEnd()) });
  const environment = {
    STILLCOUNT_DATA: folder,
    STILLCOUNT_PORT: '0',
    STILLCOUNT_TEMPLATES: 'audio-templates',
    ...more,
  };
  const clock = { aheadMs: 0 };
  const now = () => Date.now() + clock.aheadMs;
  const clinic: TestClinic = {
    clock,
    service: await startService(environment, log, { ...options, now }),
    logged,
    folder,
    async restart() {
      await clinic.service.stop();
      clinic.service = await startService(environment, log, { ...options, now });
    },
    async remove() {
      await clinic.service.stop();
      await rm(folder, { recursive: true, force: true });
    },
  };
  return clinic;
}

export const person = { name: 'Rosa Lind', zone: 'Europe/Vienna', birthYear: '1944' };

/** A service with a clinic, its owner signed in, and one person in her care who was screened without a finding. */
export async function openClinicWithPerson(
  more: NodeJS.ProcessEnv = {},
  options: StartOptions = {},
): Promise<{
  clinic: TestClinic;
  ada: Visitor;
  patientPath: string;
}> {
  const clinic = await openTestClinic(more, options);
  const ada = new Visitor(() => clinic.service.address);
  await ada.post(new URL(clinic.service.firstLink ?? '').pathname, owner);
  const patientPath = await addPerson(ada, person);
  await screen(ada, patientPath, []);
  return { clinic, ada, patientPath };
}

/** @returns the path of the new person's page */
export async function addPerson(visitor: Visitor, fields: Record<string, string>): Promise<string> {
  const next = (await visitor.submit('/patients/new', fields)).headers.get('location') ?? '';
  const path = /^(\/patients\/[\w-]{36})\/screening$/.exec(next)?.[1];
  if (path === undefined) throw new Error(`a person could not be added: ${next}`);
  return path;
}

/**
 * Answers every question of the interview, screen by screen, up to the last one: yes to those named, no to all others.
 *
 * @returns the page on which it is saved
 */
export async function answerInterview(
  visitor: Visitor,
  patientPath: string,
  yes: readonly string[],
  details = 'since spring',
): Promise<string> {
  const formToken = await visitor.formToken();
  const answered = new Set<string>();
  let at = (await visitor.get(`${patientPath}/screening`)).headers.get('location') ?? '';
  while (at.startsWith(`${patientPath}/screening/`) && !at.endsWith('/review')) {
    const page = await (await visitor.get(at)).text();
    const ids = [...page.matchAll(/name="answers\.([\w-]+)\.details"/g)].map(([, id]) => id ?? '');
    const answers = ids.flatMap((id) => [
      [`answers.${id}.answer`, yes.includes(id) ? 'yes' : 'no'],
      [`answers.${id}.details`, yes.includes(id) ? details : ''],
    ]);
    for (const id of ids) answered.add(id);
    const sent = await visitor.post(at, { formToken, ...Object.fromEntries(answers) });
    at = sent.headers.get('location') ?? '';
  }
  const missed = yes.filter((id) => !answered.has(id));
  if (!at.endsWith('/review') || missed.length > 0)
    throw new Error(`the interview was not answered, or never asked: ${missed.join(', ')}`);
  return at;
}

/** The same, and saves it. */
export async function screen(
  visitor: Visitor,
  patientPath: string,
  yes: readonly string[],
  details?: string,
): Promise<void> {
  const review = await answerInterview(visitor, patientPath, yes, details);
  const saved = await visitor.submit(review, {});
  if (saved.headers.get('location') !== patientPath) throw new Error('the screening could not be saved');
}

/**
 * Signs the shortest program that there is, for a person who was screened: five repetitions, done in about two and a
 * half minutes with its opening and closing.
 *
 * @returns the path of its page
 */
export async function signShortProgram(
  visitor: Visitor,
  patientPath: string,
  more: Record<string, string> = {},
): Promise<string> {
  const form = await formOf(
    await visitor.submit(`${patientPath}/prescribe`, { starter: 'first', do: 'starter' }),
  );
  const kept = Object.entries(form).filter(([name]) => !name.startsWith('program.exercises.'));
  const short = {
    'program.title': 'Short program',
    'program.exercises.0.exercise': 'ankle-pumps',
    'program.exercises.0.dose.sets': '1',
    'program.exercises.0.dose.reps': '5',
  };
  const fields = { ...Object.fromEntries(kept), ...short, ...more, reason: 'A short start', do: 'sign' };
  const signed = await visitor.post(`${patientPath}/prescribe`, fields);
  const path = signed.headers.get('location') ?? '';
  if (!path.startsWith('/prescriptions/')) throw new Error(`not signed: ${await signed.text()}`);
  return path;
}

/** Gives a patient, or one of their caregivers, a link. */
export async function giveLink(
  visitor: Visitor,
  personPath: string,
  fields: Record<string, string> = {},
): Promise<{ path: string; code: string; page: string }> {
  const answer = await visitor.submit(`${personPath}/link`, fields);
  const page = (await answer.text()).replaceAll('&#x2F;', '/');
  const path = /\/l\/[\w-]{43}\//.exec(page)?.[0];
  const code = /<p class="typed code">([^<]+)<\/p>/.exec(page)?.[1];
  if (path === undefined || code === undefined) throw new Error(`no link was given: ${page}`);
  return { path, code, page };
}

/** A link for another clinic on the same service, as a colleague who runs the machine could make one. */
export async function linkForAnotherClinic(clinic: TestClinic): Promise<string> {
  await clinic.service.stop();
  const store = await openStore({ kind: 'sqlite', file: join(clinic.folder, 'clinic.db') });
  const token = newToken();
  const nowMs = Date.now();
  const invitation = { tokenHash: hashToken(token), nowMs, expiresAtMs: nowMs + 60_000 };
  await store.write((db) => inviteFirstOwner(db, invitation));
  await store.close();
  await clinic.restart();
  return `${clinic.service.address}/begin/${token}`;
}

/** A visitor without a browser: keeps its cookie, sends forms as a page of ours would. */
export class Visitor {
  cookie = '';
  readonly address: () => string;
  /** What the forms of a sign-in carry, which is the same for as long as that lasts. */
  #formToken = { cookie: '', token: 'none' };

  constructor(address: () => string) {
    this.address = address;
  }

  async get(path: string, headers: Record<string, string> = {}): Promise<Response> {
    return fetch(new URL(path, this.address()), {
      redirect: 'manual',
      headers: { cookie: this.cookie, ...headers },
    });
  }

  async post(
    path: string,
    fields: Record<string, string>,
    headers: Record<string, string> = {},
  ): Promise<Response> {
    const response = await fetch(new URL(path, this.address()), {
      method: 'POST',
      redirect: 'manual',
      body: new URLSearchParams(fields),
      headers: { cookie: this.cookie, 'sec-fetch-site': 'same-origin', ...headers },
    });
    const set = response.headers.get('set-cookie');
    if (set !== null) this.cookie = set.split(';')[0] ?? '';
    return response;
  }

  /** Sends a form with the token of the page that holds it. */
  async submit(path: string, fields: Record<string, string>): Promise<Response> {
    return this.post(path, { formToken: await this.formToken(), ...fields });
  }

  async formToken(): Promise<string> {
    if (this.#formToken.cookie !== this.cookie || this.#formToken.token === 'none') {
      const page = await (await this.get('/')).text();
      const token = /name="formToken" value="([^"]+)"/.exec(page)?.[1] ?? 'none';
      this.#formToken = { cookie: this.cookie, token };
    }
    return this.#formToken.token;
  }
}
