/** Health data: from here on, no other user of this machine can read what this process writes. */
export function keepToOwner(): void {
  process.umask(0o077);
}
