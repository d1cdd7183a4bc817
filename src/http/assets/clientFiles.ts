/** The names under which bundles stand in `dist/bundles`. */
export const clientFiles = {
  clinicStyle: 'clinic.css',
  clinicScript: 'clinic.js',
  listeningStyle: 'listening.css',
  listeningScript: 'listening.js',
  /** A module that the listening page loads when someone looks at its settings. */
  reminding: 'reminding.js',
  /** Reads two constants that are put before it when the service starts. */
  worker: 'worker.js',
} as const;

/** What browsers load, each as one text. */
export type ClientTexts = Readonly<Record<keyof typeof clientFiles, string>>;
