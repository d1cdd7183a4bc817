import type { MailSettings } from './mailSettings.js';

/** The result of signing in to a mail server without sending anything. */
export type MailSignIn = 'in' | 'slow' | 'silent' | 'sign-in-refused' | 'not-encrypted' | 'refused';

/** By the codes of the SMTP library. */
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

/** Node.js error codes for certificates that are not trusted or have expired. */
const certificateFault = /^(CERT_|DEPTH_ZERO|SELF_SIGNED|UNABLE_TO_|ERR_TLS)/;

/**
 * Connects, signs in if there are credentials, and disconnects.
 *
 * @param mostMs the time after which the server counts as slow
 */
export async function tryMailSignIn(settings: MailSettings, mostMs: number): Promise<MailSignIn> {
  const { createTransport } = await import('nodemailer');
  const transport = createTransport({
    host: settings.host,
    port: settings.port,
    secure: settings.isSecure,
    requireTLS: settings.needsStartTls,
    ignoreTLS: settings.skipsStartTls,
    // With credentials set, a server that never asks for them would refuse the emails later.
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
