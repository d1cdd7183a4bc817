import { type ChildProcessWithoutNullStreams, spawn } from 'node:child_process';

const hasGroups = process.platform !== 'win32';
const running = new Set<ChildProcessWithoutNullStreams>();
process.on('exit', () => {
  for (const child of running) endGroup(child);
});

/**
 * Starts a program without a shell, in a process group of its own, so that whatever it starts can be ended with it.
 * It ends with this process at the latest.
 *
 * @throws what Node.js throws for arguments that no program can be started with
 */
export function startGroup(path: string, args: readonly string[]): ChildProcessWithoutNullStreams {
  const child = spawn(path, [...args], { detached: hasGroups, windowsHide: true, stdio: 'pipe' });
  running.add(child);
  const forget = () => running.delete(child);
  child.once('close', forget);
  child.once('error', forget);
  return child;
}

/** Ends a program that {@link startGroup} has started, and all that it has started in its turn, at once. */
export function endGroup(child: ChildProcessWithoutNullStreams): void {
  if (child.pid === undefined) return;
  try {
    if (hasGroups) process.kill(-child.pid, 'SIGKILL');
    else endTree(child.pid);
  } catch {
    // No one of the group is there any longer.
    child.kill('SIGKILL');
  }
}

/** Ends a process of Windows, which has no groups, with its children; their parent may not be ended before them. */
export function endTree(pid: number): void {
  const ending = spawn('taskkill', ['/pid', String(pid), '/t', '/f'], { windowsHide: true, stdio: 'ignore' });
  ending.on('error', () => undefined);
  ending.unref();
}
