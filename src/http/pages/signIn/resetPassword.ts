import type { AccountResources } from '../../../clinic/accounts/account.js';
import { resetPassword } from '../../../clinic/accounts/accountLinks.js';
import { passwordSchema } from '../../../clinic/accounts/passwords.js';
import { hashToken } from '../../../clinic/tokens.js';
import { problemsOf } from '../../../clinic/values.js';
import type { Problem } from '../../../errors/stillcountError.js';
import { findAccountLink } from '../../../store/accounts/accountLinks.js';
import { passwordIn } from '../../forms/credentials.js';
import type { PageResources } from '../../server/routing.js';
import { type PageReply, type PageRequest, Routes } from '../../server/routing.js';
import { deadLink } from './signIn.js';

/** Setting a new password with the one-time link from an owner or the administrator. */
export function resetPasswordRoutes(service: AccountResources & PageResources): Routes {
  const { store, limits } = service;

  async function page(request: PageRequest, problems: readonly Problem[]): Promise<PageReply> {
    const tokenHash = hashToken(request.params.token ?? '');
    const link = await store.read((db) => findAccountLink(db, tokenHash, request.nowMs));
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
    .publicRoute('get', '/reset-password/:token', (request) => page(request, []))
    .publicRoute('post', '/reset-password/:token', async (request) => {
      const chosen = passwordSchema.safeParse(passwordIn(request.fields));
      if (!chosen.success) return page(request, problemsOf(chosen.error));
      // Hashing is expensive: a guessed link must not trigger it.
      if (!(await limits.mayTry(null, request.place))) {
        return deadLink('Too many tries. Please wait a quarter of an hour.');
      }
      const token = request.params.token ?? '';
      const open = await store.read((db) => findAccountLink(db, hashToken(token), request.nowMs));
      if (open === null) return page(request, []);
      const used = await resetPassword(service, { token, password: chosen.data, nowMs: request.nowMs });
      // A browser signed in as someone else must not appear to have become this account.
      return used === null ? page(request, []) : { kind: 'redirect', to: '/sign-in', signIn: null };
    });
}
