import type { Kysely } from 'kysely';
import type { DatabaseKind } from './migrations.js';
import type { Database } from './schema.js';

/** Tables with their columns, each `text`, `number` or another type's own name. */
export type Schema = Readonly<Record<string, Readonly<Record<string, string>>>>;

export type SchemaDifference = { where: string; found: string; wanted: string };

/** The common names for the types of each kind of database. */
const typeNames: Readonly<Record<string, string>> = {
  int4: 'number',
  int8: 'number',
  integer: 'number',
  bigint: 'number',
  float8: 'number',
  'double precision': 'number',
  text: 'text',
};

/** The actual structure of a database. */
export async function schemaOf(db: Kysely<Database>, kind: DatabaseKind): Promise<Schema> {
  const tables = await db.introspection.getTables();
  const inUse = tables.filter(({ schema }) => kind === 'sqlite' || schema === 'public');
  return Object.fromEntries(
    inUse.map(({ name, columns }) => [
      name,
      Object.fromEntries(
        columns.map((column) => {
          const type = column.dataType.toLowerCase();
          return [column.name, typeNames[type] ?? type];
        }),
      ),
    ]),
  );
}

/** The differences, column by column; unknown tables are ignored. */
export function schemaDifferences(wanted: Schema, found: Schema): SchemaDifference[] {
  return Object.entries(wanted).flatMap(([table, columns]) => {
    const own = found[table];
    if (own === undefined) return [{ where: table, found: 'no such table', wanted: 'a table' }];
    return Object.entries({ ...own, ...columns }).flatMap(([column]) => {
      const [is, shouldBe] = [own[column] ?? 'no such column', columns[column] ?? 'no such column'];
      return is === shouldBe ? [] : [{ where: `${table}.${column}`, found: is, wanted: shouldBe }];
    });
  });
}
