/** The names of bundles in `dist/bundles`. */
export const clientFiles = {
  clinicStyle: 'clinic.css',
  clinicScript: 'clinic.js',
  listeningStyle: 'listening.css',
  listeningScript: 'listening.js',
  /** A module that the listening page loads when its settings are opened. */
  reminding: 'reminding.js',
  /** Reads two constants that are prepended when the service starts. */
  worker: 'worker.js',
} as const;

/** What browsers load, each as one text. */
export type ClientTexts = Readonly<Record<keyof typeof clientFiles, string>>;
