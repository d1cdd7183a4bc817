import { AsyncLocalStorage } from 'node:async_hooks';
import { Server } from 'node:http';
import { type CompiledQuery, type DatabaseConnection, SqliteDialect } from 'kysely';

/** One statement that a request sent to its database. */
export type Statement = {
  text: string;
  parameters: readonly unknown[];
  /** Where it ran: on its own, or in which transaction of the request, counted from 1. */
  transaction: number | null;
  /** Whether the person had been locked by then, in the same transaction. */
  isLocked: boolean;
  /** Functions of the house that asked for it, the nearest first. */
  askedBy: readonly string[];
};

/**
 * Work that nobody waits for goes on after its request has been answered, and is no part of it; neither is finding out who
 * sends it, where being seen is written down now and then.
 */
const isBeside =
  / src[/](clinic[/]listening[/]prepareSessions|store[/]accounts[/]signInSessions)[.]ts|^(authenticate|resolveEntry) /;
const isFrame = /^(begin|commit|rollback)$/;
const lock = 'update "patient" set "revision" = "revision" where "id" = ?';

type Recording = { statements: Statement[]; transactions: number };
const running = new AsyncLocalStorage<Recording>();

/**
 * Records every statement of requests that this process answers from SQLite, each under its own request. Nothing of the
 * house knows of it: Kysely's driver and Node's server are watched.
 */
export class Queries {
  #last: Recording = { statements: [], transactions: 0 };
  readonly #putBack: (() => void)[] = [];

  constructor() {
    const { createDriver } = SqliteDialect.prototype;
    SqliteDialect.prototype.createDriver = function (this: SqliteDialect) {
      const driver = createDriver.call(this);
      const { acquireConnection } = driver;
      driver.acquireConnection = async (...args) => watched(await acquireConnection.apply(driver, args));
      return driver;
    };
    const { emit } = Server.prototype;
    const begin = () => {
      this.#last = { statements: [], transactions: 0 };
      return this.#last;
    };
    Server.prototype.emit = function (this: Server, event: string | symbol, ...args: unknown[]) {
      const answer = (): boolean => Reflect.apply(emit, this, [event, ...args]);
      return event === 'request' ? running.run(begin(), answer) : answer();
    };
    this.#putBack.push(
      () => Object.assign(SqliteDialect.prototype, { createDriver }),
      () => Object.assign(Server.prototype, { emit }),
    );
  }

  /** What one request asks of the database, until it is answered. */
  async of(request: () => Promise<Response>): Promise<{ statements: Statement[]; status: number }> {
    const response = await request();
    await response.text();
    return { statements: [...this.#last.statements], status: response.status };
  }

  end(): void {
    for (const putBack of this.#putBack) putBack();
  }
}

const seen = new WeakSet<DatabaseConnection>();

function watched(connection: DatabaseConnection): DatabaseConnection {
  if (seen.has(connection)) return connection;
  seen.add(connection);
  const { executeQuery } = connection;
  let transaction: number | null = null;
  let isLocked = false;
  connection.executeQuery = <R>(query: CompiledQuery) => {
    const recording = running.getStore();
    const { sql: text, parameters } = query;
    if (text === 'begin' && recording !== undefined) {
      recording.transactions += 1;
      transaction = recording.transactions;
      isLocked = false;
    }
    isLocked ||= transaction !== null && text.startsWith(lock);
    const askedBy = callers();
    if (recording !== undefined && !isFrame.test(text) && !askedBy.some((each) => isBeside.test(each)))
      recording.statements.push({ text, parameters, transaction, isLocked, askedBy });
    if (text === 'commit' || text === 'rollback') [transaction, isLocked] = [null, false];
    return executeQuery.call(connection, query) as ReturnType<typeof executeQuery<R>>;
  };
  return connection;
}

/** The functions of the house on the way to a statement, through everything that is awaited. */
function callers(): string[] {
  const before = Error.stackTraceLimit;
  Error.stackTraceLimit = 200;
  const { stack = '' } = new Error();
  Error.stackTraceLimit = before;
  return [...stack.matchAll(/at (?:async )?(\S+)? ?.*?[/](src[/][\w./-]+[.]ts)/g)].map(
    ([, name = '', file = '']) => `${/^[\w.]+$/.test(name) ? name : ''} ${file}`,
  );
}
