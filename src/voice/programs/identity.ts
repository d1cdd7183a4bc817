import { statSync } from 'node:fs';

/**
 * Returns a text that changes when the file does: its path, size and modification time, or just the name when there is
 * no such file.
 */
export function fileIdentity(path: string): string {
  try {
    const { size, mtimeMs } = statSync(path);
    return `${path} ${size} ${mtimeMs}`;
  } catch {
    return path;
  }
}
