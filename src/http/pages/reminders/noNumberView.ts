import { clinicById } from '../../../store/accounts/clinics.js';
import type { Role } from '../../../store/schema/accountsSchema.js';
import type { HttpResources } from '../../server/resources.js';

/** Says that no reminders are sent while the clinic has no phone number, and who can change that. */
export async function noNumberView(
  { store }: Pick<HttpResources, 'store'>,
  { clinicId, role }: { clinicId: string; role: Role },
): Promise<{ noNumber: { isOwner: boolean } | null }> {
  const { phone } = await store.read((db) => clinicById(db, clinicId));
  return { noNumber: /\d/.test(phone) ? null : { isOwner: role === 'owner' } };
}
