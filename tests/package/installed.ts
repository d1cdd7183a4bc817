import { execFile, spawnSync } from 'node:child_process';
import { chmod, chown, cp, mkdir, mkdtemp, rm, symlink } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { promisify } from 'node:util';
import { readVersion } from '../../src/cli/version.js';
import { sqlitePackage } from '../../src/store/engine/requireSqlite.js';

const execute = promisify(execFile);

/** What `npm pack` needs of the project. */
const packed = ['src', 'scripts', 'audio-templates', 'package.json', 'package-lock.json', '.npmrc'];
const alsoPacked = ['tsconfig.json', 'README.md', 'CHANGELOG.md', 'LICENSE'];

/** The id of the user `nobody` on Debian and its relatives. */
const nobody = 65_534;
const isRoot = process.getuid?.() === 0;
const canBecomeNobody = isRoot && spawnSync('setpriv', ['--version'], { stdio: 'ignore' }).status === 0;

/** A program of the installed package with its arguments, as a user who is not root where that can be had. */
export type Call = { command: string; args: string[]; options: { cwd: string; env: NodeJS.ProcessEnv } };

/** The package, packed and installed as anybody would, into a folder with spaces and umlauts. */
export class Installed {
  private constructor(
    private readonly folder: string,
    /** The folder that it was installed into. */
    readonly prefix: string,
    /** Where its user works; that user's home cannot be written. */
    readonly workFolder: string,
  ) {}

  /** Packs and installs; whatever needs a compiler is left out. */
  static async open(): Promise<Installed> {
    // Root may write everywhere, which hides what a clinic's own user may not.
    if (isRoot && !canBecomeNobody && process.env.CI === 'true')
      throw new Error('setpriv is missing (Debian: util-linux), so that nobody but root runs this');
    const folder = await mkdtemp(join(tmpdir(), 'stillcount-package-'));
    // Another user must get as far as the folders inside.
    await chmod(folder, 0o755);
    const source = join(folder, 'Quelle');
    await mkdir(source);
    await Promise.all(
      [...packed, ...alsoPacked].map((name) => cp(name, join(source, name), { recursive: true })),
    );
    await symlink(resolve('node_modules'), join(source, 'node_modules'));
    await execute('npm', ['pack', '--pack-destination', folder], { cwd: source });

    const prefix = join(folder, 'Geräte für Übungen');
    await mkdir(prefix);
    const how = ['--prefer-offline', '--ignore-scripts', '--no-audit', '--no-fund', '--no-package-lock'];
    await execute(
      'npm',
      ['install', ...how, '--prefix', prefix, join(folder, `stillcount-${readVersion()}.tgz`)],
      {
        cwd: prefix,
      },
    );

    const workFolder = join(folder, 'Übungen von heute');
    await mkdir(workFolder);
    const home = join(folder, 'home');
    await mkdir(home, { mode: 0o555 });
    if (canBecomeNobody) await chown(workFolder, nobody, nobody);
    return new Installed(folder, prefix, workFolder);
  }

  /** Puts the compiled part of the database in, as it was built for the project. */
  async addDatabase(): Promise<void> {
    if (sqlitePackage(process.versions.node) === 'better-sqlite3-ready') return;
    const built = join('node_modules', 'better-sqlite3', 'build');
    await cp(built, join(this.prefix, built), { recursive: true });
  }

  call(args: readonly string[], environment: NodeJS.ProcessEnv = {}): Call {
    const program = join(this.prefix, 'node_modules', '.bin', 'stillcount');
    const env = {
      PATH: process.env.PATH,
      HOME: join(this.folder, 'home'),
      TMPDIR: this.workFolder,
      ...environment,
    };
    const options = { cwd: this.workFolder, env };
    if (!canBecomeNobody) return { command: program, args: [...args], options };
    const asNobody = [`--reuid=${nobody}`, `--regid=${nobody}`, '--clear-groups', program];
    return { command: 'setpriv', args: [...asNobody, ...args], options };
  }

  remove(): Promise<void> {
    return rm(this.folder, { recursive: true, force: true });
  }
}
