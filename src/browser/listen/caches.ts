/**
 * Names of what a phone keeps for one link, which its page fills and its service worker answers from. A browser may
 * keep several links, and their pages know nothing of each other.
 *
 * @param scope path of the page
 */
export const soundCache = (scope: string) => `stillcount-sound ${scope}`;

/** The page itself, with the style sheet and the script that it was made for. */
export const pageCache = (scope: string, version: string) => `${pageCaches(scope)}${version}`;

/** How the names of all versions of a page begin. */
export const pageCaches = (scope: string) => `stillcount-page ${scope} `;
