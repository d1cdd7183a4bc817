import { z } from 'zod';
import type { Resources } from '../resources/resources.js';

const signsSchema = z.array(z.string());

/** The ids of a warning's signs, from the JSON in which they are kept. */
export function readSigns(json: string): string[] {
  return signsSchema.parse(JSON.parse(json));
}

/** A sign that today's list no longer has stands with its id. */
export function signInWords({ workshop }: Pick<Resources, 'workshop'>, id: string): string {
  return workshop.warningSigns.signs.find((sign) => sign.id === id)?.words ?? id;
}
