import type { AccountResources } from '../../../clinic/accounts/account.js';
import { isIdentityProven } from '../../../clinic/accounts/account.js';
import { makePasswordLink } from '../../../clinic/accounts/accountLinks.js';
import { contactSchema, setContact } from '../../../clinic/accounts/clinicSettings.js';
import { endColleague, inviteToTeam, joiningSchema, joinTeam } from '../../../clinic/accounts/team.js';
import { requireOwner } from '../../../clinic/actor.js';
import { attempt } from '../../../clinic/refusals.js';
import { hashToken } from '../../../clinic/tokens.js';
import { parseForm, problemsOf } from '../../../clinic/values.js';
import type { Problem } from '../../../errors/stillcountError.js';
import { clinicById } from '../../../store/accounts/clinics.js';
import { colleaguesOf, openInvitation } from '../../../store/accounts/colleagues.js';
import { roles } from '../../../store/schema/accountsSchema.js';
import { dayInWords } from '../../../text/dates.js';
import { proofIn } from '../../forms/credentials.js';
import { field } from '../../forms/fields.js';
import { withSentences } from '../../server/problems.js';
import type { PageResources } from '../../server/routing.js';
import { type AuthenticatedRequest, type PageReply, type PageRequest, Routes } from '../../server/routing.js';
import { deadLink } from '../signIn/signIn.js';

type Shown = {
  /** With which a colleague joins. */
  link?: string;
  /** With which one of them sets a new password. */
  passwordLink?: { name: string; link: string; clearsSecondStep: boolean };
  /** Why nothing was done. */
  refused?: string;
};

const notSure =
  'Your password or code is incorrect, the code was already used, or there were too many tries. No link was made.';

/** Who else works in the clinic: inviting, joining by a one-time link, a link for a new password, ending an account. */
export function colleagueRoutes(service: AccountResources & PageResources): Routes {
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

  /** What stands against hashing a password for a link: hashing is costly, and a guessed link must not cost it. */
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
      const token = await inviteToTeam(service, visit, field(visit.fields, 'role'));
      return page(visit, { link: `${visit.origin}/join/${token}` });
    })
    .authenticatedRoute('post', '/colleagues/contact', async (visit) => {
      const names = ['phone', 'emergencyNumber', 'notesReading'];
      const typed = Object.fromEntries(names.map((name) => [name, field(visit.fields, name)]));
      await setContact(service, visit, parseForm(contactSchema, typed));
      return { kind: 'redirect', to: '/colleagues#contact' };
    })
    .authenticatedRoute('post', '/colleagues/:id/password-link', async (visit) => {
      requireOwner(visit);
      if (!(await isIdentityProven(service, visit, proofIn(visit)))) return page(visit, { refused: notSure });
      const clearsSecondStep = field(visit.fields, 'clearsSecondStep') === 'yes';
      const request = { colleagueId: visit.params.id ?? '', clearsSecondStep };
      const { token, name } = await makePasswordLink(service, visit, request);
      const link = `${visit.origin}/reset-password/${token}`;
      return page(visit, { passwordLink: { name, link, clearsSecondStep } });
    })
    .authenticatedRoute('post', '/colleagues/:id/end', async (visit) => {
      await endColleague(service, visit, visit.params.id ?? '');
      return { kind: 'redirect', to: '/colleagues' };
    })
    .publicRoute('get', '/join/:token', async (visit) => joinPage(visit, []))
    .publicRoute('post', '/join/:token', async (visit) => {
      const typed = { name: field(visit.fields, 'name'), email: field(visit.fields, 'email') };
      const joining = joiningSchema.safeParse({ ...typed, password: visit.fields.password });
      if (!joining.success) return joinPage(visit, problemsOf(joining.error));
      const closed = await joinClosed(visit);
      if (closed !== null) return closed;
      const token = visit.params.token ?? '';
      const result = await attempt(() =>
        joinTeam(service, { token, joining: joining.data, nowMs: visit.nowMs }),
      );
      if (result.kind === 'refused') return joinPage(visit, withSentences(result.refusals, words));
      return result.value === 'closed' ? joinPage(visit, []) : { kind: 'redirect', to: '/sign-in' };
    });
}
