import type { Command } from 'commander';
import { readSettings } from '../../session/settings.js';
import { printJson } from '../print.js';
import { withTiming } from '../verbosity.js';

export function addSchemaCommand(command: Command): void {
  command
    .command('schema')
    .description('print the JSON Schema of program files, for editors')
    .action(async () => {
      // Loaded here, so that all other commands start without reading the words.
      const { programJsonSchema } = await import('../../program/jsonSchema.js');
      const { readCatalogues } = await import('../../session/readCatalogues.js');
      const catalogues = await withTiming('read the catalogue', () =>
        readCatalogues(readSettings(process.env).templatesFolder),
      );
      const ids = [...catalogues.values()].flatMap(({ exercises }) => [...exercises.keys()]);
      printJson(programJsonSchema([...new Set(ids)].sort()));
    });
}
