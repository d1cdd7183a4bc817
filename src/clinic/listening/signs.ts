import type { Resources } from '../resources/resources.js';

/** A sign that is no longer in the list appears as its id. */
export function describeSign({ workshop }: Pick<Resources, 'workshop'>, id: string): string {
  return workshop.warningSigns.signs.find((sign) => sign.id === id)?.words ?? id;
}
