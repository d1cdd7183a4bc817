import { resetPassword } from '../../../clinic/accounts/accountLinks.js';
import { passwordSchema } from '../../../clinic/accounts/passwords.js';
import { hashToken } from '../../../clinic/tokens.js';
import { problemsOf } from '../../../clinic/values.js';
import type { Problem } from '../../../errors/stillcountError.js';
import { openAccountLink } from '../../../store/accounts/accountLinks.js';
import { passwordIn } from '../../forms/credentials.js';
import type { HttpResources } from '../../server/resources.js';
import { type PageReply, type PageRequest, Routes } from '../../server/routing.js';
import { deadLink } from './signIn.js';

/** Setting a new password with the one-time link from an owner or the administrator. */
export function resetPasswordRoutes(
  service: Pick<
    HttpResources,
    'store' | 'pages' | 'words' | 'assets' | 'limits' | 'reminderSecrets' | 'channelNames' | 'now' | 'https'
  >,
): Routes {
  const { store, limits } = service;

  async function page(visit: PageRequest, problems: readonly Problem[]): Promise<PageReply> {
    const tokenHash = hashToken(visit.params.token ?? '');
    const link = await store.read((db) => openAccountLink(db, tokenHash, visit.nowMs));
    if (link === null) {
      return deadLink('It was used, is older than a day, or there is a newer one. Ask for a new link.');
    }
    return {
      kind: 'page',
      page: 'reset-password',
      status: problems.length === 0 ? 200 : 400,
      view: { ...link, problems, hasProblems: problems.length > 0 },
    };
  }

  return new Routes(service)
    .publicRoute('get', '/reset-password/:token', (visit) => page(visit, []))
    .publicRoute('post', '/reset-password/:token', async (visit) => {
      const chosen = passwordSchema.safeParse(passwordIn(visit.fields));
      if (!chosen.success) return page(visit, problemsOf(chosen.error));
      // Hashing is expensive: a guessed link must not trigger it.
      if (!(await limits.mayTry(null, visit.place))) {
        return deadLink('Too many tries. Please wait a quarter of an hour.');
      }
      const token = visit.params.token ?? '';
      const open = await store.read((db) => openAccountLink(db, hashToken(token), visit.nowMs));
      if (open === null) return page(visit, []);
      const used = await resetPassword(service, { token, password: chosen.data, nowMs: visit.nowMs });
      // A browser signed in as someone else must not appear to have become this account.
      return used === null ? page(visit, []) : { kind: 'redirect', to: '/sign-in', signIn: null };
    });
}
