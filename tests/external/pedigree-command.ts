import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { run } from '../../apps/pedigree/src/run.js';

/** The object that the command prints with --json. */
export interface PedigreeAnswer {
  animals: number;
  defects: { kind: string; ids: string[]; message: string }[];
  inbreeding: Record<string, number>;
  meanKinship: Record<string, number>;
  population: Record<string, number> | null;
  depth: Record<string, number | null> | null;
  pairs?: { a: string; b: string; kinship: number }[];
  timingsMs: Record<string, number>;
}

/** What a call of the command printed, and its exit code. */
export interface PedigreeCall {
  exitCode: number;
  stdout: string;
  stderr: string;
}

/** Calls the command in this process with the given arguments. */
export function callPedigree(...argv: string[]): PedigreeCall {
  const call: PedigreeCall = { exitCode: -1, stdout: '', stderr: '' };
  call.exitCode = run(argv, {
    stdout: (text) => (call.stdout += text),
    stderr: (text) => (call.stderr += text),
  });
  return call;
}

/** The answer of the command to a file that it accepts. */
export function askPedigree(file: string, ...options: string[]): PedigreeAnswer {
  const call = callPedigree(file, '--json', ...options);
  if (call.exitCode !== 0) throw new Error(`exit ${call.exitCode}: ${call.stderr}`);
  return JSON.parse(call.stdout) as PedigreeAnswer;
}

/** Writes a file of its own for a test, hands over its path and removes it again. */
export function withFile<T>(content: string | Uint8Array, use: (path: string) => T): T {
  const folder = mkdtempSync(join(tmpdir(), 'kithbook-pedigree-'));
  try {
    const path = join(folder, 'animals.csv');
    writeFileSync(path, content);
    return use(path);
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

/** A file of animals written with blanks between them, `id,sire,dam,sex,birth,status` each. */
export function csvOf(animals: string): string {
  return `id,sire,dam,sex,birth,status\n${animals.trim().split(/\s+/).join('\n')}\n`;
}
