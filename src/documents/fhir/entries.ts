import type { BundleEntry, FhirResource, Reference } from 'fhir/r4.js';

/** The resource types in our bundles. */
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

/** Returns the UUID of a name, always the same one. */
export type UuidOf = (name: string) => string;

/** Assigns ids to the resources of one bundle, so that they can refer to each other. */
export class Names {
  readonly #uuidOf: UuidOf;

  constructor(uuidOf: UuidOf) {
    this.#uuidOf = uuidOf;
  }

  /**
   * Returns a resource's id.
   *
   * @param key unique among resources of its kind, such as its id in our record
   */
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

/** Returns an element with its value, or no element at all, because an empty one is not valid FHIR. */
export function optionalPart<Key extends string, Value>(
  key: Key,
  value: Value | null | undefined,
): { [K in Key]?: Value } {
  if (value === null || value === undefined || (Array.isArray(value) && value.length === 0)) return {};
  return { [key]: value } as { [K in Key]: Value };
}

/**
 * Returns text as FHIR allows it, with no white space other than spaces, tabs and line ends; null if nothing remains.
 */
export function fhirText(text: string): string | null {
  // biome-ignore lint/suspicious/noControlCharactersInRegex: these are the characters to remove.
  const allowed = text.replace(/[^\S \r\n\t]|[\u0000-\u0008\u000b\u000c\u000e-\u001f]/gu, ' ').trim();
  return allowed === '' ? null : allowed;
}

/** Formats an instant for FHIR, in UTC. */
export function fhirInstant(atMs: number): string {
  return new Date(atMs).toISOString();
}
