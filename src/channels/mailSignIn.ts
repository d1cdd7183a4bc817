import type { MailSettings } from './mailSettings.js';

/** What came of trying whether a mail server lets us in, without sending anything. */
export type MailSignIn = 'in' | 'slow' | 'silent' | 'sign-in-refused' | 'not-encrypted' | 'refused';

/** By the codes of the library that speaks SMTP. */
const byCode: Readonly<Record<string, MailSignIn>> = {
  EAUTH: 'sign-in-refused',
  ENOAUTH: 'sign-in-refused',
  EOAUTH2: 'sign-in-refused',
  ETLS: 'not-encrypted',
  EREQUIRETLS: 'not-encrypted',
  ECONNECTION: 'silent',
  ESOCKET: 'silent',
  EDNS: 'silent',
  ECONNREFUSED: 'silent',
};

/** How Node.js names a certificate that is not trusted or has run out. */
const certificateFault = /^(CERT_|DEPTH_ZERO|SELF_SIGNED|UNABLE_TO_|ERR_TLS)/;

/**
 * Connects, signs in where there is something to sign in with, and leaves.
 *
 * @param mostMs after which the server counts as slow
 */
export async function tryMailSignIn(settings: MailSettings, mostMs: number): Promise<MailSignIn> {
  const { createTransport } = await import('nodemailer');
  const transport = createTransport({
    host: settings.host,
    port: settings.port,
    secure: settings.isSecure,
    requireTLS: settings.needsStartTls,
    ignoreTLS: settings.skipsStartTls,
    // Where there is something to sign in with, a server that never asks for it would refuse the letters later.
    ...(settings.auth === null ? {} : { auth: settings.auth, forceAuth: true }),
    connectionTimeout: mostMs,
    greetingTimeout: mostMs,
    dnsTimeout: mostMs,
    socketTimeout: mostMs,
    disableFileAccess: true,
    disableUrlAccess: true,
  });
  let timer: NodeJS.Timeout | undefined;
  const slow = new Promise<MailSignIn>((resolve) => {
    timer = setTimeout(() => resolve('slow'), mostMs);
  });
  const tried = transport.verify().then(
    (): MailSignIn => 'in',
    (error: unknown): MailSignIn => {
      const code = codeIn(error, 'code');
      if (code === 'ESOCKET' && certificateFault.test(codeIn(error, 'originalCode'))) return 'not-encrypted';
      return code === 'ETIMEDOUT' ? 'slow' : (byCode[code] ?? 'refused');
    },
  );
  try {
    return await Promise.race([tried, slow]);
  } finally {
    clearTimeout(timer);
    transport.close();
  }
}

function codeIn(error: unknown, name: 'code' | 'originalCode'): string {
  return error instanceof Error && name in error ? String(Object(error)[name]) : '';
}
