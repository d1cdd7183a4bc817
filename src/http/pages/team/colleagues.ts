import type { AccountResources } from '../../../clinic/accounts/account.js';
import { isIdentityProven } from '../../../clinic/accounts/account.js';
import { makePasswordLink } from '../../../clinic/accounts/accountLinks.js';
import { contactSchema, setContact } from '../../../clinic/accounts/clinicSettings.js';
import { endColleague, inviteToTeam, joiningSchema, joinTeam } from '../../../clinic/accounts/team.js';
import { requireOwner } from '../../../clinic/actor.js';
import { hashToken } from '../../../clinic/tokens.js';
import { parseForm, problemsOf } from '../../../clinic/values.js';
import type { Problem } from '../../../errors/stillcountError.js';
import { clinicById } from '../../../store/accounts/clinics.js';
import { colleaguesOf, openInvitation } from '../../../store/accounts/colleagues.js';
import { roles } from '../../../store/schema/accountsSchema.js';
import { dayInWords } from '../../../text/dates.js';
import { proofIn } from '../../forms/credentials.js';
import { field } from '../../forms/fields.js';
import { attempt, withSentences } from '../../server/problems.js';
import type { PageResources } from '../../server/routing.js';
import { type AuthenticatedRequest, type PageReply, type PageRequest, Routes } from '../../server/routing.js';
import { deadLink } from '../signIn/signIn.js';

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
export function colleagueRoutes(service: AccountResources & PageResources): Routes {
  const { store, words } = service;

  async function page(
    request: AuthenticatedRequest,
    { link, passwordLink, refused }: Shown = {},
  ): Promise<PageReply> {
    requireOwner(request);
    const { clinicId, clinicZone, id, totpSecret } = request.clinician;
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

  async function joinPage(request: PageRequest, problems: readonly Problem[]): Promise<PageReply> {
    const tokenHash = hashToken(request.params.token ?? '');
    const invitation = await store.read((db) => openInvitation(db, tokenHash, request.nowMs));
    if (invitation === null) return deadLink('It was used, or is older than a week. Ask for a new one.');
    return {
      kind: 'page',
      page: 'join',
      status: problems.length === 0 ? 200 : 400,
      view: {
        clinicName: invitation.clinicName,
        roleWords: words.roles[invitation.role],
        name: field(request.fields, 'name'),
        email: field(request.fields, 'email'),
        problems,
        hasProblems: problems.length > 0,
      },
    };
  }

  /** What prevents accepting a password for a link: hashing is expensive, and a guessed link must not trigger it. */
  async function joinClosed(request: PageRequest): Promise<PageReply | null> {
    if (!(await service.limits.mayTry(null, request.place)))
      return deadLink('Too many tries. Please wait a quarter of an hour.');
    const tokenHash = hashToken(request.params.token ?? '');
    const invitation = await store.read((db) => openInvitation(db, tokenHash, request.nowMs));
    return invitation === null ? joinPage(request, []) : null;
  }

  return new Routes(service)
    .authenticatedRoute('get', '/colleagues', (request) => page(request))
    .authenticatedRoute('post', '/colleagues', async (request) => {
      const token = await inviteToTeam(service, request, field(request.fields, 'role'));
      return page(request, { link: `${request.origin}/join/${token}` });
    })
    .authenticatedRoute('post', '/colleagues/contact', async (request) => {
      const names = ['phone', 'emergencyNumber', 'notesReading'];
      const typed = Object.fromEntries(names.map((name) => [name, field(request.fields, name)]));
      await setContact(service, request, parseForm(contactSchema, typed));
      return { kind: 'redirect', to: '/colleagues#contact' };
    })
    .authenticatedRoute('post', '/colleagues/:id/password-link', async (request) => {
      requireOwner(request);
      if (!(await isIdentityProven(service, request, proofIn(request))))
        return page(request, { refused: notSure });
      const clearsSecondStep = field(request.fields, 'clearsSecondStep') === 'yes';
      const about = { colleagueId: request.params.id ?? '', clearsSecondStep };
      const { token, name } = await makePasswordLink(service, request, about);
      const link = `${request.origin}/reset-password/${token}`;
      return page(request, { passwordLink: { name, link, clearsSecondStep } });
    })
    .authenticatedRoute('post', '/colleagues/:id/end', async (request) => {
      await endColleague(service, request, request.params.id ?? '');
      return { kind: 'redirect', to: '/colleagues' };
    })
    .publicRoute('get', '/join/:token', async (request) => joinPage(request, []))
    .publicRoute('post', '/join/:token', async (request) => {
      const typed = { name: field(request.fields, 'name'), email: field(request.fields, 'email') };
      const joining = joiningSchema.safeParse({ ...typed, password: request.fields.password });
      if (!joining.success) return joinPage(request, problemsOf(joining.error));
      const closed = await joinClosed(request);
      if (closed !== null) return closed;
      const token = request.params.token ?? '';
      const result = await attempt(() =>
        joinTeam(service, { token, joining: joining.data, nowMs: request.nowMs }),
      );
      if (result.kind === 'refused') return joinPage(request, withSentences(result.refusals, words));
      return result.value === 'closed' ? joinPage(request, []) : { kind: 'redirect', to: '/sign-in' };
    });
}
