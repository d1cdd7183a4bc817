import { z } from 'zod';
import { hashPassword, isPassword, passwordSchema } from '../../../clinic/accounts/passwords.js';
import { passSecondStep } from '../../../clinic/accounts/secondStep.js';
import { hashToken, newToken } from '../../../clinic/tokens.js';
import { emailSchema, emailTaken, line, problemsOf, zoneSchema, zones } from '../../../clinic/values.js';
import { endAllAccessKeys } from '../../../store/accounts/accessKeys.js';
import { record } from '../../../store/accounts/audit.js';
import {
  type Clinician,
  clinicianByEmail,
  createFirstClinic,
  isEmailTaken,
  isOpenInvitation,
} from '../../../store/accounts/clinicians.js';
import { beginSignIn, endAllSignIns, endSignIn } from '../../../store/accounts/signInSessions.js';
import { deviceText } from '../../../text/device.js';
import { passwordIn, proofIn } from '../../forms/credentials.js';
import { field } from '../../forms/fields.js';
import { withSentences } from '../../server/problems.js';
import type { HttpResources } from '../../server/resources.js';
import { type PageReply, type PageRequest, Routes, signInMs } from '../../server/routing.js';

const firstSchema = z.object({
  clinicName: line(200),
  zone: zoneSchema,
  name: line(200),
  email: emailSchema,
  password: passwordSchema,
});

/** First setup, signing in and signing out. */
export function signInRoutes(
  service: Pick<HttpResources, 'store' | 'pages' | 'words' | 'assets' | 'limits' | 'now' | 'https'>,
): Routes {
  const { store } = service;

  async function begin(clinicianId: string, { nowMs, device }: PageRequest): Promise<PageReply> {
    const token = newToken();
    const session = {
      tokenHash: hashToken(token),
      clinicianId,
      formToken: newToken(),
      device: deviceText(device),
    };
    await store.write((db) => beginSignIn(db, { ...session, nowMs, expiresAtMs: nowMs + signInMs }));
    return { kind: 'redirect', to: '/', signIn: token };
  }

  const setUpPage = (visit: PageRequest, problems: ReturnType<typeof problemsOf>): PageReply => ({
    kind: 'page',
    page: 'begin',
    status: problems.length === 0 ? 200 : 400,
    view: {
      ...Object.fromEntries(['clinicName', 'name', 'email'].map((name) => [name, field(visit.fields, name)])),
      zone: field(visit.fields, 'zone') || Intl.DateTimeFormat().resolvedOptions().timeZone,
      zones,
      problems,
      hasProblems: problems.length > 0,
    },
  });

  const usedUp = deadLink('It has been used or is more than a day old. Restart the service for a new one.');

  async function noteSignIn({ clinicId, id }: Clinician, action: string, atMs: number): Promise<void> {
    const entry = { clinicId, clinicianId: id, patientId: null, subject: id, atMs };
    await store.write((db) => record(db, { ...entry, action }));
  }

  const tooMany = (visit: PageRequest) =>
    failed(visit, 429, 'Too many tries. Wait 15 minutes, then try again.');

  const failed = (visit: PageRequest, status: number, words: string): PageReply => ({
    kind: 'page',
    page: 'sign-in',
    status,
    view: { email: field(visit.fields, 'email'), failed: words },
  });

  return new Routes(service)
    .publicRoute('get', '/begin/:token', async (visit) => {
      const tokenHash = hashToken(visit.params.token ?? '');
      const open = await store.read((db) => isOpenInvitation(db, tokenHash, visit.nowMs));
      return open ? setUpPage(visit, []) : usedUp;
    })
    .publicRoute('post', '/begin/:token', async (visit) => {
      const tokenHash = hashToken(visit.params.token ?? '');
      const names = ['clinicName', 'zone', 'name', 'email'];
      const typed = Object.fromEntries(names.map((name) => [name, field(visit.fields, name)]));
      const password = visit.fields.password;
      const first = firstSchema.safeParse({ ...typed, password });
      if (!first.success) return setUpPage(visit, problemsOf(first.error));
      const { password: chosen, ...details } = first.data;
      if (!(await service.limits.mayTry(null, visit.place))) return tooMany(visit);
      if (!(await store.read((db) => isOpenInvitation(db, tokenHash, visit.nowMs)))) return usedUp;
      const passwordHash = await hashPassword(chosen);
      const made = await store.write(async (db) => {
        // The link is checked first: whoever guesses one must not learn which addresses have accounts.
        if (!(await isOpenInvitation(db, tokenHash, visit.nowMs))) return null;
        if (await isEmailTaken(db, details.email)) return 'taken';
        const clinic = await createFirstClinic(db, {
          ...details,
          tokenHash,
          passwordHash,
          nowMs: visit.nowMs,
        });
        if (clinic !== null) {
          await record(db, {
            ...clinic,
            patientId: null,
            action: 'clinic-set-up',
            subject: clinic.clinicId,
            atMs: visit.nowMs,
          });
        }
        return clinic;
      });
      if (made === 'taken') return setUpPage(visit, withSentences([emailTaken], service.words));
      return made === null ? usedUp : begin(made.clinicianId, visit);
    })
    .publicRoute('get', '/sign-in', async () => ({ kind: 'page', page: 'sign-in', view: {} }))
    .publicRoute('post', '/sign-in', async (visit) => {
      const email = field(visit.fields, 'email');
      if (!(await service.limits.mayTry(email, visit.place))) {
        return tooMany(visit);
      }
      const clinician = await store.read((db) => clinicianByEmail(db, email));
      const isKnown = await isPassword(passwordIn(visit.fields), clinician?.passwordHash ?? null);
      const passed = await passSecondStep(service, clinician, {
        ...proofIn(visit),
        isKnown,
        nowMs: visit.nowMs,
      });
      const wrong = failed(visit, 401, 'Email, password, or code is incorrect.');
      if (clinician === null) return wrong;
      const isSure = passed !== null;
      await noteSignIn(clinician, isSure ? 'signed-in' : 'sign-in-failed', visit.nowMs);
      if (!isSure) return wrong;
      await service.limits.forget(email);
      return begin(clinician.id, visit);
    })
    .authenticatedRoute('post', '/sign-out', async (visit) => {
      await store.write((db) => endSignIn(db, visit.tokenHash));
      await noteSignIn(visit.clinician, 'signed-out', visit.nowMs);
      return { kind: 'redirect', to: '/sign-in', signIn: null };
    })
    .authenticatedRoute('post', '/sign-out-everywhere', async (visit) => {
      const { clinician, nowMs } = visit;
      const endsKeys = field(visit.fields, 'keys') === 'yes';
      await store.write(async (db) => {
        await endAllSignIns(db, clinician.id);
        if (endsKeys) await endAllAccessKeys(db, clinician.id, nowMs);
      });
      await noteSignIn(clinician, 'signed-out-everywhere', nowMs);
      return { kind: 'redirect', to: '/sign-in', signIn: null };
    });
}

/** Says that a one-time link no longer works, and what to do. */
export function deadLink(why: string): PageReply {
  const heading = 'This link no longer works';
  const view = {
    status: 404,
    heading,
    problems: [{ message: why }],
    backTo: '/sign-in',
    backWords: 'Sign in',
  };
  return { kind: 'page', page: 'message', status: 404, view };
}
