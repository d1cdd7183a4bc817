import { z } from 'zod';
import { isSurelyHerself } from '../../../clinic/accounts/account.js';
import { makePasswordLink } from '../../../clinic/accounts/accountLinks.js';
import { contactSchema, setContact } from '../../../clinic/accounts/clinicSettings.js';
import { hashPassword, passwordSchema } from '../../../clinic/accounts/passwords.js';
import { note, requireOwner } from '../../../clinic/actor.js';
import { refused } from '../../../clinic/refusals.js';
import { hashToken, newToken } from '../../../clinic/tokens.js';
import { emailSchema, emailTaken, line, parsedForm, problemsOf } from '../../../clinic/values.js';
import type { Problem } from '../../../errors/stillcountError.js';
import { endAccountLinksBy } from '../../../store/accounts/accountLinks.js';
import { record } from '../../../store/accounts/audit.js';
import { isEmailTaken } from '../../../store/accounts/clinicians.js';
import { clinicById } from '../../../store/accounts/clinics.js';
import {
  colleaguesOf,
  endAccount,
  inviteColleague,
  joinClinic,
  openInvitation,
} from '../../../store/accounts/colleagues.js';
import { endAllSignIns } from '../../../store/accounts/signInSessions.js';
import { roles } from '../../../store/schema/schema.js';
import { dayInWords } from '../../../text/dates.js';
import { dayMs } from '../../../time/units.js';
import { proofIn } from '../../forms/credentials.js';
import { field } from '../../forms/fields.js';
import { withSentences } from '../../server/problems.js';
import type { HttpResources } from '../../server/resources.js';
import { type AuthenticatedRequest, type PageReply, type PageRequest, Routes } from '../../server/routing.js';
import { deadLink } from '../signIn/signIn.js';

const linkLastsMs = 7 * dayMs;

const joiningSchema = z.object({
  name: line(200),
  email: emailSchema,
  password: passwordSchema,
});

type Shown = {
  /** The link with which a member joins. */
  link?: string;
  /** The link with which a member sets a new password. */
  passwordLink?: { name: string; link: string; clearsSecondStep: boolean };
  /** Why nothing was done. */
  refused?: string;
};

const notSure =
  'Your password or code is incorrect, the code was already used, or there were too many tries. No link was made.';

/** The team: inviting, joining with a one-time link, password links, closing accounts. */
export function colleagueRoutes(
  service: Pick<
    HttpResources,
    'store' | 'pages' | 'words' | 'assets' | 'limits' | 'reminderSecrets' | 'channelNames' | 'now' | 'https'
  >,
): Routes {
  const { store, words } = service;

  async function page(
    visit: AuthenticatedRequest,
    { link, passwordLink, refused }: Shown = {},
  ): Promise<PageReply> {
    requireOwner(visit);
    const { clinicId, clinicZone, id, totpSecret } = visit.clinician;
    const colleagues = await store.read((db) => colleaguesOf(db, clinicId));
    const clinic = await store.read((db) => clinicById(db, clinicId));
    return {
      kind: 'page',
      page: 'colleagues',
      status: refused === undefined ? 200 : 400,
      view: {
        link,
        passwordLink,
        refused,
        asksForCode: totpSecret !== null,
        clinic,
        usualNotesReading: words.usualNotesReading,
        roles: roles.map((role) => ({ role, words: words.roles[role], selected: role === 'clinician' })),
        colleagues: colleagues.map((each) => ({
          ...each,
          roleWords: words.roles[each.role],
          ended: each.endedAtMs === null ? null : dayInWords(each.endedAtMs, clinicZone),
          mayEnd: each.endedAtMs === null && each.id !== id,
        })),
      },
    };
  }

  async function joinPage(visit: PageRequest, problems: readonly Problem[]): Promise<PageReply> {
    const tokenHash = hashToken(visit.params.token ?? '');
    const invitation = await store.read((db) => openInvitation(db, tokenHash, visit.nowMs));
    if (invitation === null) return deadLink('It was used, or is older than a week. Ask for a new one.');
    return {
      kind: 'page',
      page: 'join',
      status: problems.length === 0 ? 200 : 400,
      view: {
        clinicName: invitation.clinicName,
        roleWords: words.roles[invitation.role],
        name: field(visit.fields, 'name'),
        email: field(visit.fields, 'email'),
        problems,
        hasProblems: problems.length > 0,
      },
    };
  }

  /** What prevents hashing a password for a link: hashing is expensive, and a guessed link must not trigger it. */
  async function joinClosed(visit: PageRequest): Promise<PageReply | null> {
    if (!(await service.limits.mayTry(null, visit.place)))
      return deadLink('Too many tries. Please wait a quarter of an hour.');
    const tokenHash = hashToken(visit.params.token ?? '');
    const invitation = await store.read((db) => openInvitation(db, tokenHash, visit.nowMs));
    return invitation === null ? joinPage(visit, []) : null;
  }

  return new Routes(service)
    .authenticatedRoute('get', '/colleagues', (visit) => page(visit))
    .authenticatedRoute('post', '/colleagues', async (visit) => {
      requireOwner(visit);
      const role = roles.find((each) => each === field(visit.fields, 'role'));
      if (role === undefined) {
        throw refused('no-such-role', { field: 'role', allowed: roles.join(', ') });
      }
      const token = newToken();
      const { clinicId } = visit.clinician;
      await store.write(async (db) => {
        const times = { nowMs: visit.nowMs, expiresAtMs: visit.nowMs + linkLastsMs };
        await inviteColleague(db, { tokenHash: hashToken(token), clinicId, role, ...times });
        await note(db, visit, { patientId: null, subject: role, action: 'colleague-invited' });
      });
      return page(visit, { link: `${visit.origin}/join/${token}` });
    })
    .authenticatedRoute('post', '/colleagues/contact', async (visit) => {
      const names = ['phone', 'emergencyNumber', 'notesReading'];
      const typed = Object.fromEntries(names.map((name) => [name, field(visit.fields, name)]));
      await setContact(service, visit, parsedForm(contactSchema, typed));
      return { kind: 'redirect', to: '/colleagues#contact' };
    })
    .authenticatedRoute('post', '/colleagues/:id/password-link', async (visit) => {
      requireOwner(visit);
      if (!(await isSurelyHerself(service, visit, proofIn(visit)))) return page(visit, { refused: notSure });
      const clearsSecondStep = field(visit.fields, 'clearsSecondStep') === 'yes';
      const asked = { colleagueId: visit.params.id ?? '', clearsSecondStep };
      const { token, name } = await makePasswordLink(service, visit, asked);
      const link = `${visit.origin}/reset-password/${token}`;
      return page(visit, { passwordLink: { name, link, clearsSecondStep } });
    })
    .authenticatedRoute('post', '/colleagues/:id/end', async (visit) => {
      requireOwner(visit);
      const ended = visit.params.id ?? '';
      const { clinicId, id: clinicianId } = visit.clinician;
      if (ended === clinicianId) throw refused('own-account');
      const done = await store.write(async (db) => {
        if (!(await endAccount(db, clinicId, { clinicianId: ended, nowMs: visit.nowMs }))) return false;
        await endAllSignIns(db, ended);
        await endAccountLinksBy(db, ended, visit.nowMs);
        await note(db, visit, { patientId: null, subject: ended, action: 'account-ended' });
        return true;
      });
      if (!done) throw refused('no-such-account');
      return { kind: 'redirect', to: '/colleagues' };
    })
    .publicRoute('get', '/join/:token', async (visit) => joinPage(visit, []))
    .publicRoute('post', '/join/:token', async (visit) => {
      const typed = { name: field(visit.fields, 'name'), email: field(visit.fields, 'email') };
      const joining = joiningSchema.safeParse({ ...typed, password: visit.fields.password });
      if (!joining.success) return joinPage(visit, problemsOf(joining.error));
      const { password, ...details } = joining.data;
      const closed = await joinClosed(visit);
      if (closed !== null) return closed;
      const passwordHash = await hashPassword(password);
      const tokenHash = hashToken(visit.params.token ?? '');
      const joined = await store.write(async (db) => {
        if (await isEmailTaken(db, details.email)) return 'taken';
        const made = await joinClinic(db, { ...details, tokenHash, passwordHash, nowMs: visit.nowMs });
        if (made === null) return null;
        const entry = { ...made, patientId: null, subject: made.clinicianId, atMs: visit.nowMs };
        await record(db, { ...entry, action: 'colleague-joined' });
        return made;
      });
      if (joined === 'taken') return joinPage(visit, withSentences([emailTaken], words));
      return joined === null ? joinPage(visit, []) : { kind: 'redirect', to: '/sign-in' };
    });
}
