import type { BundleEntry, FhirResource, Reference } from 'fhir/r4.js';

/** The kinds of resource that a bundle of ours has. */
export type Kind =
  | 'CarePlan'
  | 'Communication'
  | 'Flag'
  | 'Goal'
  | 'Observation'
  | 'Organization'
  | 'Patient'
  | 'Practitioner'
  | 'Provenance'
  | 'Questionnaire'
  | 'QuestionnaireResponse'
  | 'RelatedPerson'
  | 'ServiceRequest';

/** Gives a name a UUID, always the same one. */
export type UuidOf = (name: string) => string;

/** Names the resources of one bundle, so that they refer to each other inside it. */
export class Names {
  readonly #uuidOf: UuidOf;

  constructor(uuidOf: UuidOf) {
    this.#uuidOf = uuidOf;
  }

  /** @param key what is only one of its kind, such as the id that our record has for it */
  idOf(kind: Kind, key: string): string {
    return this.#uuidOf(`${kind} ${key}`);
  }

  to(kind: Kind, key: string): Reference {
    return { reference: `urn:uuid:${this.idOf(kind, key)}` };
  }

  entry(key: string, resource: FhirResource & { resourceType: Kind }): BundleEntry {
    const id = this.idOf(resource.resourceType, key);
    return { fullUrl: `urn:uuid:${id}`, resource: { ...resource, id } };
  }
}

/** A part with its value, or nothing at all: an empty one is no valid FHIR. */
export function optionalPart<Key extends string, Value>(
  key: Key,
  value: Value | null | undefined,
): { [K in Key]?: Value } {
  if (value === null || value === undefined || (Array.isArray(value) && value.length === 0)) return {};
  return { [key]: value } as { [K in Key]: Value };
}

/** Text as FHIR allows it: no other white space than blanks, tabs and line ends, and not empty; null for none. */
export function fhirText(text: string): string | null {
  // biome-ignore lint/suspicious/noControlCharactersInRegex: these are what is not allowed.
  const allowed = text.replace(/[^\S \r\n\t]|[\u0000-\u0008\u000b\u000c\u000e-\u001f]/gu, ' ').trim();
  return allowed === '' ? null : allowed;
}

/** An instant as FHIR writes it, in UTC. */
export function fhirInstant(atMs: number): string {
  return new Date(atMs).toISOString();
}
