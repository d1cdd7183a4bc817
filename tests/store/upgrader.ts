import { openStore } from '../../src/store/engine/openStore.js';
import { Sqlite } from '../sqlite.js';

/**
 * Opens a SQLite file, which brings it up to date, and says `open` or what it is refused with. With a number it kills
 * itself before the statement of that number, and without one it says which statements there are.
 */
const [file = '', killedAt = ''] = process.argv.slice(2);
let count = 0;
Sqlite.prototype.prepare = new Proxy(Sqlite.prototype.prepare, {
  apply: (prepare, connection, args) => {
    count += 1;
    if (killedAt === String(count)) process.kill(process.pid, 'SIGKILL');
    if (killedAt === '') process.stdout.write(`${String(args[0]).replaceAll('\n', ' ').slice(0, 60)}\n`);
    return Reflect.apply(prepare, connection, args);
  },
});
try {
  const store = await openStore({ kind: 'sqlite', file });
  await store.close();
  process.stdout.write('open\n');
} catch (error) {
  process.stdout.write(`${error instanceof Error ? error.message : 'thrown'}\n`);
  process.exitCode = 1;
}
