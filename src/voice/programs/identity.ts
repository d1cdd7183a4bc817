import { statSync } from 'node:fs';

/** Changes when the file does: its path, size and time of change; the bare name when there is no such file. */
export function fileIdentity(path: string): string {
  try {
    const { size, mtimeMs } = statSync(path);
    return `${path} ${size} ${mtimeMs}`;
  } catch {
    return path;
  }
}
