// Runs the command on the text of a document and gives what it prints.

import { spawn } from 'node:child_process';

/** What a run gave. */
export interface Output {
  readonly status: number;
  readonly out: string;
  readonly error: string;
}

const LIMIT = 30_000;
const MOST = 64 * 1024 * 1024;

/** Runs a program with a text on its standard input; `cancel` ends it early. */
export function run(program: string, args: readonly string[], folder: string, text: string, cancel: AbortSignal): Promise<Output> {
  return new Promise((resolve, reject) => {
    const child = spawn(program, args, {
      cwd: folder,
      env: { ...process.env, NO_COLOR: '1' },
      stdio: ['pipe', 'pipe', 'pipe'],
      signal: cancel,
      windowsHide: true,
    });
    const late = setTimeout(() => child.kill(), LIMIT);
    const out: Buffer[] = [];
    const error: Buffer[] = [];
    let size = 0;
    child.stdout.on('data', (piece: Buffer) => {
      size += piece.length;
      if (size > MOST) {
        child.kill();
      } else {
        out.push(piece);
      }
    });
    child.stderr.on('data', (piece: Buffer) => error.push(piece));
    // A command that refuses its arguments never reads; that shows in its exit status.
    child.stdin.on('error', () => {});
    child.stdin.end(text, 'utf8');
    child.on('error', (problem) => {
      clearTimeout(late);
      reject(problem);
    });
    child.on('close', (status) => {
      clearTimeout(late);
      resolve({ status: status ?? -1, out: Buffer.concat(out).toString('utf8'), error: Buffer.concat(error).toString('utf8') });
    });
  });
}
