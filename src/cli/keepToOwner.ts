/** Health data: what this process writes from here on can be read by no one else on the machine. */
export function keepToOwner(): void {
  process.umask(0o077);
}
