import { buildInsertionOrder, type DraftChange } from '../../../clinic/prescribing/drafts.js';
import { wholeNumber } from '../../../clinic/values.js';
import { type Fields, field } from '../../forms/fields.js';
import { applyListAction, contentFromForm } from '../../forms/programForm.js';
import type { HttpResources } from '../../server/resources.js';

/** The draft from the form, after the action of its button. */
export function draftChangeIn(service: Pick<HttpResources, 'workshop'>, fields: Fields): DraftChange {
  const action = field(fields, 'do');
  const named = { basedOn: wholeNumber(field(fields, 'basedOn')), workId: field(fields, 'workId') };
  if (action === 'starter') return { ...named, starterId: field(fields, 'starter') };
  return {
    ...named,
    content: applyListAction(contentFromForm(fields), action, buildInsertionOrder(service)),
  };
}
