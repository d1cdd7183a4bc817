/**
 * Whether a version of Node.js ends the process at a moment that nobody can foresee when it clears away what version 12
 * of the database module has made: from 24.19 on each of its objects takes a hook away that needs a context, which a
 * clean-up in the background has not ("Assertion failed: (env) != nullptr" in RemoveEnvironmentCleanupHook; seen with
 * 24.21.0 and 12.11.1, and not with 22.23.3).
 *
 * @param moduleVersion of better-sqlite3; from 13 on it is built another way
 */
export function endsAtRandom(nodeVersion: string, moduleVersion: string): boolean {
  const [major = 0, minor = 0] = nodeVersion.split('.').map(Number);
  const isHooked = major > 24 || (major === 24 && minor >= 19);
  return isHooked && Number.parseInt(moduleVersion, 10) < 13;
}
