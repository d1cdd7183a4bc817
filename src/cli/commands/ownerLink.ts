import type { Command } from 'commander';
import { inputError, workError } from '../../errors/stillcountError.js';
import { readSettings } from '../../session/settings.js';
import type { Db } from '../../store/engine/openStore.js';
import { storeSettings } from '../../store/service/settings.js';
import { dayMs } from '../../time/units.js';
import { print, printJson } from '../print.js';
import { printInfo } from '../verbosity.js';

type Options = { email: string; clearSecondStep?: true; json?: true };

/** `stillcount owner-link`: the administrator lets a locked-out owner back in. */
export function addOwnerLinkCommand(command: Command): void {
  command
    .command('owner-link')
    .description(
      'print a one-time link that lets a locked-out owner set a new password, and notify every owner',
    )
    .requiredOption('--email <address>', 'email address the owner signs in with')
    .option('--clear-second-step', 'turn off two-step verification when the link is used')
    .option('--json', 'print the link as JSON')
    .action(async ({ email, clearSecondStep, json }: Options) => {
      // Loaded here and below, so that all other commands start without the database code.
      const { openStore, readSnapshot } = await import('../../store/engine/openStore.js');
      const { isUpToDate } = await import('../../store/engine/upToDate.js');
      const { dataFolder } = readSettings(process.env);
      const settings = storeSettings(process.env, dataFolder);
      const clinicianId = await readSnapshot(settings, async (db) => {
        // The service migrates a database; a command that runs beside it does not.
        if (!(await isUpToDate(db, settings.kind))) throw otherVersion();
        return ownerOf(db, email);
      });
      const { activateOwnerLink, queueOwnerLink } = await import('../../clinic/accounts/ownerLinks.js');
      const { hashToken, newToken } = await import('../../clinic/tokens.js');
      const token = newToken();
      const link = {
        tokenHash: hashToken(token),
        clinicianId,
        clearsSecondStep: clearSecondStep === true,
        atMs: Date.now(),
      };
      let from = 'It works at once';
      if (settings.kind === 'sqlite') {
        // Only one process can open this database, so the service adds the link.
        await queueOwnerLink(dataFolder, link);
        from =
          'If the service is running, it works within ten seconds; otherwise once the service is started';
      } else {
        const { openReminderSecrets } = await import('../../reminders/secrets.js');
        const store = await openStore(settings);
        try {
          const reminderSecrets = await openReminderSecrets(store, Date.now());
          const sendsMail = (process.env.STILLCOUNT_MAIL_URL ?? '') !== '';
          await activateOwnerLink({ store, reminderSecrets, sendsMail, now: Date.now }, link);
        } finally {
          await store.close();
        }
      }
      const address = `${addressOf(process.env)}/reset-password/${token}`;
      const until = new Date(link.atMs + dayMs).toISOString();
      if (json === true) {
        printJson({ link: address, until, clearsSecondStep: link.clearsSecondStep });
        return;
      }
      print(address);
      printInfo(
        `${from}, once, until ${until}. Give it to the owner yourself.`,
        link.clearsSecondStep
          ? 'Using it also turns off two-step verification.'
          : 'Two-step verification stays as it is: --clear-second-step turns it off.',
        'It is recorded in the activity log, and every owner of the clinic is notified.',
      );
    });
}

/** @throws StillcountError kind `input` if no owner signs in with this address */
async function ownerOf(db: Db, email: string): Promise<string> {
  const { clinicianByEmail, ownerEmails } = await import('../../store/accounts/clinicians.js');
  const clinician = await clinicianByEmail(db, email.trim());
  if (clinician?.role === 'owner') return clinician.id;
  const owners = await ownerEmails(db);
  throw inputError({
    path: '--email',
    message:
      clinician === null
        ? 'no one signs in with this address'
        : 'this account is not an owner: an owner makes links for everyone else on the Team page',
    found: email,
    allowed: owners.length === 0 ? 'none: no clinic is set up yet' : owners.join(', '),
  });
}

function otherVersion(): Error {
  return workError({
    message: 'the service has not upgraded this database to the version of this command yet',
    hint: 'start this version of the service once, then try again',
  });
}

/** Returns the address at which browsers reach the service, from its settings. */
function addressOf({
  STILLCOUNT_ADDRESS: address,
  STILLCOUNT_HOST: host,
  STILLCOUNT_PORT: port,
}: NodeJS.ProcessEnv): string {
  return (address || `http://${host || '127.0.0.1'}:${port || '8750'}`).replace(/\/$/, '');
}
