import { describe, expect, it } from 'vitest';
import { requireSqlite, sqlitePackage } from '../../src/store/engine/requireSqlite.js';

/** Run for this table, on Linux: fifty databases opened, closed and cleared away while other memory was used up. */
const wentWell: readonly [node: string, name: string][] = [
  ['20.20.2', 'better-sqlite3'],
  ['22.23.3', 'better-sqlite3-ready'],
  ['24.21.0', 'better-sqlite3-ready'],
];

describe('the database module', () => {
  it.each(wentWell)('for Node.js %s is %s', (node, name) => {
    expect(sqlitePackage(node)).toBe(name);
  });

  it('loads here', () => {
    const memory = new (requireSqlite())(':memory:');
    expect(memory.prepare('select 1 + 1').pluck().get()).toBe(2);
    memory.close();
  });
});
