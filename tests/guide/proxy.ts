import { type ChildProcess, execFileSync, spawn, spawnSync } from 'node:child_process';
import { readFile, writeFile } from 'node:fs/promises';
import { request as httpRequest, type IncomingHttpHeaders } from 'node:http';
import { request as httpsRequest } from 'node:https';
import { connect, createServer } from 'node:net';
import { join } from 'node:path';
import { setTimeout as after } from 'node:timers/promises';

/** The name that the files of the guide give to a clinic. */
export const host = 'clinic.example.org';

type Answer = { status: number; headers: IncomingHttpHeaders; body: Buffer };
export type Asking = {
  method?: 'GET' | 'POST';
  headers?: Record<string, string>;
  body?: string;
  /** The address of this machine that is the visitor's; all of 127.0.0.0/8 is there on Linux. */
  from?: string;
};

/** A server for https in front of the service, with the file that the guide shows. */
export type ProxyServer = {
  ask(path: string, asking?: Asking): Promise<Answer>;
  askPlainly(path: string): Promise<Answer>;
  /** Everything that it printed or wrote into a log. */
  told(): Promise<string>;
  end(): Promise<void>;
};

type Ports = { plain: number; secure: number; service: number };
type Known = {
  package: string;
  command: string;
  version: string[];
  /** The file of the guide, changed only where it names what this machine does not have. */
  start(folder: string, ports: Ports): Promise<{ args: string[]; logs: string[] }>;
};

const guideFile = (name: string) => readFile(join('src', 'guide', 'files', name), 'utf8');

/** @throws Error when the text does not hold what is to be put in another's place */
function swap(text: string, pairs: readonly (readonly [string, string])[]): string {
  return pairs.reduce((changed, [from, to]) => {
    if (!changed.includes(from)) throw new Error(`the file of the guide no longer holds: ${from}`);
    return changed.replaceAll(from, to);
  }, text);
}

export const proxies: Readonly<Record<'nginx' | 'caddy', Known>> = {
  nginx: {
    package: 'nginx-light',
    command: '/usr/sbin/nginx',
    version: ['-v'],
    async start(folder, { plain, secure, service }) {
      const letters = '/etc/letsencrypt/live/clinic.example.org';
      const log = join(folder, 'stillcount.log');
      const site = swap(await guideFile('nginx-site.conf'), [
        ['    listen [::]:80;\n', ''],
        ['    listen [::]:443 ssl;\n', ''],
        ['listen 80;', `listen 127.0.0.1:${plain};`],
        ['listen 443 ssl;', `listen 127.0.0.1:${secure} ssl;`],
        [`${letters}/fullchain.pem`, join(folder, 'certificate.pem')],
        [`${letters}/privkey.pem`, join(folder, 'key.pem')],
        ['/var/log/nginx/stillcount.log', log],
        ['http://127.0.0.1:8750', `http://127.0.0.1:${service}`],
      ]);
      await writeFile(join(folder, 'site.conf'), site);
      const temporary = ['client_body', 'proxy', 'fastcgi', 'uwsgi', 'scgi'].map(
        (name) => `${name}_temp_path ${join(folder, name)};`,
      );
      const main = join(folder, 'nginx.conf');
      await writeFile(
        main,
        `daemon off;\npid ${join(folder, 'nginx.pid')};\nerror_log stderr crit;\nevents {}\nhttp {\n${temporary.join('\n')}\ninclude ${join(folder, 'site.conf')};\n}\n`,
      );
      return { args: ['-c', main, '-e', 'stderr'], logs: [log] };
    },
  },
  caddy: {
    package: 'caddy',
    command: 'caddy',
    version: ['version'],
    async start(folder, { plain, secure, service }) {
      const certificate = `tls ${join(folder, 'certificate.pem')} ${join(folder, 'key.pem')}`;
      const here = `admin off\n\thttp_port ${plain}\n\thttps_port ${secure}\n\tstorage file_system ${folder}\n\tdefault_bind 127.0.0.1\n`;
      const site = swap(await guideFile('Caddyfile'), [
        ['{\n\t# The address', `{\n\t${here}\t# The address`],
        [`\n${host} {\n`, `\n${host} {\n\t${certificate}\n`],
        ['127.0.0.1:8750', `127.0.0.1:${service}`],
      ]);
      const file = join(folder, 'Caddyfile');
      await writeFile(file, site);
      return { args: ['run', '--config', file], logs: [] };
    },
  },
};

export function hasProxy({ command, version }: Known): boolean {
  return spawnSync(command, version, { stdio: 'ignore' }).status === 0;
}

/** Starts it in front of a service and waits until it takes connections. */
export async function startProxy(known: Known, folder: string, service: string): Promise<ProxyServer> {
  const key = join(folder, 'key.pem');
  const certificate = join(folder, 'certificate.pem');
  const made = ['-x509', '-newkey', 'ec', '-pkeyopt', 'ec_paramgen_curve:prime256v1', '-nodes', '-days', '2'];
  execFileSync(
    'openssl',
    [
      'req',
      ...made,
      '-keyout',
      key,
      '-out',
      certificate,
      '-subj',
      `/CN=${host}`,
      '-addext',
      `subjectAltName=DNS:${host}`,
    ],
    { stdio: 'ignore' },
  );
  const ca = await readFile(certificate);
  const ports = { plain: await freePort(), secure: await freePort(), service: Number(new URL(service).port) };
  const { args, logs } = await known.start(folder, ports);
  const child = spawn(known.command, args, {
    stdio: ['ignore', 'pipe', 'pipe'],
    env: { ...process.env, HOME: folder },
  });
  let printed = '';
  for (const stream of [child.stdout, child.stderr])
    stream.on('data', (chunk: Buffer) => {
      printed += chunk.toString();
    });
  await untilOpen(ports.secure, child, () => printed);
  const ask = (path: string, isSecure: boolean, { method = 'GET', headers = {}, body = '', from }: Asking) =>
    new Promise<Answer>((resolve, reject) => {
      const options = {
        ...{ host: '127.0.0.1', path, method, agent: false },
        headers: { host, ...(body === '' ? {} : { 'content-length': Buffer.byteLength(body) }), ...headers },
        ...(from === undefined ? {} : { localAddress: from }),
      };
      const request = isSecure
        ? httpsRequest({ ...options, port: ports.secure, ca, servername: host })
        : httpRequest({ ...options, port: ports.plain });
      request.on('error', reject);
      request.on('response', (response) => {
        const chunks: Buffer[] = [];
        response.on('data', (chunk: Buffer) => chunks.push(chunk));
        response.on('error', reject);
        response.on('end', () =>
          resolve({
            status: response.statusCode ?? 0,
            headers: response.headers,
            body: Buffer.concat(chunks),
          }),
        );
      });
      request.end(body);
    });
  return {
    ask: (path, asking = {}) => ask(path, true, asking),
    askPlainly: (path) => ask(path, false, {}),
    told: async () =>
      [printed, ...(await Promise.all(logs.map((log) => readFile(log, 'utf8').catch(() => ''))))].join('\n'),
    end: () => ended(child),
  };
}

function ended(child: ChildProcess): Promise<void> {
  return new Promise((resolve) => {
    if (child.exitCode !== null || child.signalCode !== null) return resolve();
    child.once('exit', () => resolve());
    child.kill('SIGTERM');
  });
}

function freePort(): Promise<number> {
  return new Promise((resolve, reject) => {
    const probe = createServer();
    probe.once('error', reject);
    probe.listen(0, '127.0.0.1', () => {
      const address = probe.address();
      probe.close(() => resolve(typeof address === 'object' && address !== null ? address.port : 0));
    });
  });
}

async function untilOpen(port: number, child: ChildProcess, printed: () => string): Promise<void> {
  for (;;) {
    if (child.exitCode !== null) throw new Error(`the proxy ended at once: ${printed()}`);
    const isOpen = await new Promise<boolean>((resolve) => {
      const socket = connect(port, '127.0.0.1');
      socket.once('connect', () => {
        socket.destroy();
        resolve(true);
      });
      socket.once('error', () => resolve(false));
    });
    if (isOpen) return;
    await after(20);
  }
}
