import { type ChildProcessWithoutNullStreams, spawn } from 'node:child_process';

const hasGroups = process.platform !== 'win32';
const running = new Set<ChildProcessWithoutNullStreams>();
process.on('exit', () => {
  for (const child of running) endGroup(child);
});

/**
 * Starts a program without a shell, in its own process group, so that everything it starts can be killed with it. It is
 * killed with this process at the latest.
 *
 * @throws the Node.js error for arguments with which no program can be started
 */
export function startGroup(path: string, args: readonly string[]): ChildProcessWithoutNullStreams {
  const child = spawn(path, [...args], { detached: hasGroups, windowsHide: true, stdio: 'pipe' });
  running.add(child);
  const forget = () => running.delete(child);
  child.once('close', forget);
  child.once('error', forget);
  return child;
}

/** Kills a program that {@link startGroup} has started, and everything that it has started itself, at once. */
export function endGroup(child: ChildProcessWithoutNullStreams): void {
  if (child.pid === undefined) return;
  try {
    if (hasGroups) process.kill(-child.pid, 'SIGKILL');
    else endTree(child.pid);
  } catch {
    // The group no longer exists.
    child.kill('SIGKILL');
  }
}

/**
 * Kills a process on Windows, which has no process groups, with its children; the parent must not be killed before
 * them.
 */
export function endTree(pid: number): void {
  const ending = spawn('taskkill', ['/pid', String(pid), '/t', '/f'], { windowsHide: true, stdio: 'ignore' });
  ending.on('error', () => undefined);
  ending.unref();
}
