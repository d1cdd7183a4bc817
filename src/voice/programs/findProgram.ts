import { accessSync, constants, statSync } from 'node:fs';
import { delimiter, isAbsolute, join } from 'node:path';

/**
 * Returns the full path of a program as the system would find it, or null. A name is looked up along the search path
 * (with the extensions that Windows allows); a path is used as it is.
 */
export function findProgram(name: string, searchPath = process.env.PATH ?? ''): string | null {
  const isPath = isAbsolute(name) || name.includes('/') || name.includes('\\');
  const folders = isPath ? [''] : searchPath.split(delimiter).filter((folder) => folder !== '');
  const endings = process.platform === 'win32' ? ['', '.exe', '.com'] : [''];
  for (const folder of folders) {
    for (const ending of endings) {
      const path = folder === '' ? name + ending : join(folder, name + ending);
      if (isRunnable(path)) return path;
    }
  }
  return null;
}

function isRunnable(path: string): boolean {
  try {
    accessSync(path, constants.X_OK);
    return statSync(path).isFile();
  } catch {
    return false;
  }
}
