/**
 * Names of a phone's caches for one link; the page fills them and its service worker answers from them. A browser can
 * hold several links, whose pages are independent of each other.
 *
 * @param scope path of the page
 */
export const soundCache = (scope: string) => `stillcount-sound ${scope}`;

/** Cache of the page itself, with its own style sheet and script. */
export const pageCache = (scope: string, version: string) => `${pageCaches(scope)}${version}`;

/** Prefix of the cache names of all versions of a page. */
export const pageCaches = (scope: string) => `stillcount-page ${scope} `;
