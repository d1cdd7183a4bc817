/** The part of `cookie` used here; what express comes with has no types of its own. */
declare module 'cookie' {
  /** Cookies by name, as a request carries them (RFC 6265, section 4.2); of two with one name the first counts. */
  export function parse(header: string): Readonly<Partial<Record<string, string>>>;
}
