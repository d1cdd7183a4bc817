import { z } from 'zod';
import { hashPassword, isPassword, passwordSchema } from '../../../clinic/accounts/passwords.js';
import { consumeSecondStep } from '../../../clinic/accounts/secondStep.js';
import { hashToken, newToken } from '../../../clinic/tokens.js';
import {
  emailSchema,
  emailTaken,
  problemsOf,
  requiredText,
  zoneSchema,
  zones,
} from '../../../clinic/values.js';
import { endAllAccessKeys } from '../../../store/accounts/accessKeys.js';
import { addAuditEntry } from '../../../store/accounts/audit.js';
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
import type { PageResources } from '../../server/routing.js';
import { type PageReply, type PageRequest, Routes, signInMs } from '../../server/routing.js';

const firstSchema = z.object({
  clinicName: requiredText(200),
  zone: zoneSchema,
  name: requiredText(200),
  email: emailSchema,
  password: passwordSchema,
});

/** First setup, signing in and signing out. */
export function signInRoutes(service: PageResources & Pick<HttpResources, 'limits'>): Routes {
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

  const setUpPage = (request: PageRequest, problems: ReturnType<typeof problemsOf>): PageReply => ({
    kind: 'page',
    page: 'begin',
    status: problems.length === 0 ? 200 : 400,
    view: {
      ...Object.fromEntries(
        ['clinicName', 'name', 'email'].map((name) => [name, field(request.fields, name)]),
      ),
      zone: field(request.fields, 'zone') || Intl.DateTimeFormat().resolvedOptions().timeZone,
      zones,
      problems,
      hasProblems: problems.length > 0,
    },
  });

  const usedUp = deadLink('It has been used or is more than a day old. Restart the service for a new one.');

  async function noteSignIn({ clinicId, id }: Clinician, action: string, atMs: number): Promise<void> {
    const entry = { clinicId, clinicianId: id, patientId: null, subject: id, atMs };
    await store.write((db) => addAuditEntry(db, { ...entry, action }));
  }

  const tooMany = (request: PageRequest) =>
    failed(request, 429, 'Too many tries. Wait 15 minutes, then try again.');

  const failed = (request: PageRequest, status: number, words: string): PageReply => ({
    kind: 'page',
    page: 'sign-in',
    status,
    view: { email: field(request.fields, 'email'), failed: words },
  });

  return new Routes(service)
    .publicRoute('get', '/begin/:token', async (request) => {
      const tokenHash = hashToken(request.params.token ?? '');
      const open = await store.read((db) => isOpenInvitation(db, tokenHash, request.nowMs));
      return open ? setUpPage(request, []) : usedUp;
    })
    .publicRoute('post', '/begin/:token', async (request) => {
      const tokenHash = hashToken(request.params.token ?? '');
      const names = ['clinicName', 'zone', 'name', 'email'];
      const typed = Object.fromEntries(names.map((name) => [name, field(request.fields, name)]));
      const password = request.fields.password;
      const first = firstSchema.safeParse({ ...typed, password });
      if (!first.success) return setUpPage(request, problemsOf(first.error));
      const { password: chosen, ...details } = first.data;
      if (!(await service.limits.mayTry(null, request.place))) return tooMany(request);
      if (!(await store.read((db) => isOpenInvitation(db, tokenHash, request.nowMs)))) return usedUp;
      const passwordHash = await hashPassword(chosen);
      const created = await store.write(async (db) => {
        // The link is checked first: whoever guesses one must not learn which addresses have accounts.
        if (!(await isOpenInvitation(db, tokenHash, request.nowMs))) return null;
        if (await isEmailTaken(db, details.email)) return 'taken';
        const clinic = await createFirstClinic(db, {
          ...details,
          tokenHash,
          passwordHash,
          nowMs: request.nowMs,
        });
        if (clinic !== null) {
          await addAuditEntry(db, {
            ...clinic,
            patientId: null,
            action: 'clinic-set-up',
            subject: clinic.clinicId,
            atMs: request.nowMs,
          });
        }
        return clinic;
      });
      if (created === 'taken') return setUpPage(request, withSentences([emailTaken], service.words));
      return created === null ? usedUp : begin(created.clinicianId, request);
    })
    .publicRoute('get', '/sign-in', async () => ({ kind: 'page', page: 'sign-in', view: {} }))
    .publicRoute('post', '/sign-in', async (request) => {
      const email = field(request.fields, 'email');
      if (!(await service.limits.mayTry(email, request.place))) {
        return tooMany(request);
      }
      const clinician = await store.read((db) => clinicianByEmail(db, email));
      const isKnown = await isPassword(passwordIn(request.fields), clinician?.passwordHash ?? null);
      const passed = await consumeSecondStep(service, clinician, {
        ...proofIn(request),
        isKnown,
        nowMs: request.nowMs,
      });
      const wrong = failed(request, 401, 'Email, password, or code is incorrect.');
      if (clinician === null) return wrong;
      const isSure = passed !== null;
      await noteSignIn(clinician, isSure ? 'signed-in' : 'sign-in-failed', request.nowMs);
      if (!isSure) return wrong;
      await service.limits.forget(email);
      return begin(clinician.id, request);
    })
    .authenticatedRoute('post', '/sign-out', async (request) => {
      await store.write((db) => endSignIn(db, request.tokenHash));
      await noteSignIn(request.clinician, 'signed-out', request.nowMs);
      return { kind: 'redirect', to: '/sign-in', signIn: null };
    })
    .authenticatedRoute('post', '/sign-out-everywhere', async (request) => {
      const { clinician, nowMs } = request;
      const endsKeys = field(request.fields, 'keys') === 'yes';
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
