/**
 * What Safari on iOS 15.0 lacks and a listening page might be tempted to use, with the version that brought it, by the
 * compatibility tables of MDN (browser-compat-data; the versions are written down from memory, but for
 * `AbortSignal.timeout`, which was looked up).
 */
export type Newer = {
  /** Found in a bundle where it is used. */
  pattern: RegExp;
  since: string;
  /** Takes it away from a page; left out for syntax, which cannot be. */
  take?: string;
};

const fromArrays = (name: string, since: string): Newer => ({
  pattern: new RegExp(`\\.${name}\\(`),
  since,
  take: `for (const kind of [Array, Uint8Array]) delete kind.prototype.${name};`,
});

export const newer: Readonly<Record<string, Newer>> = {
  'AbortSignal.timeout': {
    pattern: /AbortSignal\.timeout/,
    since: '16.0',
    take: 'delete AbortSignal.timeout;',
  },
  'AbortSignal.any': { pattern: /AbortSignal\.any/, since: '17.4', take: 'delete AbortSignal.any;' },
  throwIfAborted: {
    pattern: /throwIfAborted/,
    since: '15.4',
    take: 'delete AbortSignal.prototype.throwIfAborted; delete AbortSignal.prototype.reason;',
  },
  structuredClone: { pattern: /structuredClone/, since: '15.4', take: 'delete window.structuredClone;' },
  at: {
    pattern: /\.at\(/,
    since: '15.4',
    take: 'for (const kind of [Array, String, Uint8Array]) delete kind.prototype.at;',
  },
  'Object.hasOwn': { pattern: /\.hasOwn\(/, since: '15.4', take: 'delete Object.hasOwn;' },
  'Object.groupBy': { pattern: /\.groupBy\(/, since: '17.4', take: 'delete Object.groupBy;' },
  findLast: fromArrays('findLast', '15.4'),
  findLastIndex: fromArrays('findLastIndex', '15.4'),
  toSorted: fromArrays('toSorted', '16.0'),
  toReversed: fromArrays('toReversed', '16.0'),
  toSpliced: fromArrays('toSpliced', '16.0'),
  with: fromArrays('with', '16.0'),
  'Array.fromAsync': { pattern: /\.fromAsync\(/, since: '16.4', take: 'delete Array.fromAsync;' },
  'Promise.withResolvers': {
    pattern: /withResolvers/,
    since: '17.4',
    take: 'delete Promise.withResolvers;',
  },
  'Promise.try': { pattern: /Promise\.try/, since: '18.2', take: 'delete Promise.try;' },
  'URL.canParse': { pattern: /\.canParse\(/, since: '17.0', take: 'delete URL.canParse;' },
  isWellFormed: { pattern: /isWellFormed/, since: '16.4', take: 'delete String.prototype.isWellFormed;' },
  'iterator helpers': {
    pattern: /\.(entries|keys|values)\(\)\.(map|filter|some|every|find|toArray|take|drop|reduce|flatMap)\(/,
    since: '18.4',
    take: 'const helpers = Object.getPrototypeOf(Object.getPrototypeOf([][Symbol.iterator]())); for (const name of ["map", "filter", "some", "every", "find", "toArray", "take", "drop", "reduce", "flatMap", "forEach"]) delete helpers[name];',
  },
  BroadcastChannel: { pattern: /BroadcastChannel/, since: '15.4', take: 'delete window.BroadcastChannel;' },
  requestSubmit: {
    pattern: /requestSubmit/,
    since: '16.0',
    take: 'delete HTMLFormElement.prototype.requestSubmit;',
  },
  submitter: { pattern: /\.submitter\b/, since: '15.4', take: 'delete SubmitEvent.prototype.submitter;' },
  inert: { pattern: /\.inert\b/, since: '15.5', take: 'delete HTMLElement.prototype.inert;' },
  showModal: { pattern: /showModal/, since: '15.4', take: 'delete window.HTMLDialogElement;' },
  checkVisibility: {
    pattern: /checkVisibility/,
    since: '17.4',
    take: 'delete Element.prototype.checkVisibility;',
  },
  'lookbehind in regular expressions': { pattern: /\(\?<[=!]/, since: '16.4' },
  'static blocks in classes': { pattern: /\bstatic\{/, since: '16.4' },
};

/** Used where it is there, and done without where it is not: each is asked for first. */
export const guarded: Readonly<Record<string, Newer>> = {
  randomUUID: { pattern: /randomUUID/, since: '15.4', take: 'delete Crypto.prototype.randomUUID;' },
  'navigator.locks': { pattern: /\.locks\b/, since: '15.4', take: 'delete Navigator.prototype.locks;' },
  'navigator.wakeLock': {
    pattern: /\.wakeLock\b/,
    since: '16.4',
    take: 'delete Navigator.prototype.wakeLock;',
  },
  'navigator.storage.persist': {
    pattern: /\.persist\b/,
    since: '15.2',
    take: 'delete StorageManager.prototype.persist;',
  },
  'push messages': {
    pattern: /pushManager/,
    since: '16.4, on a home screen',
    take: 'delete window.PushManager; delete window.Notification;',
  },
};

/** A script that makes a page as poor as one on iOS 15.0; to be run before the page's own. */
export const asOldPhone = [...Object.values(newer), ...Object.values(guarded)]
  .flatMap(({ take }) => take ?? [])
  .join('\n');
