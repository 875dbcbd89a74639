import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { join } from 'node:path';

const root = join(import.meta.dirname, '..', '..');
/** Characters of a process's last words that are kept for the report. */
const LAST_WORDS = 4_000;

/** What a process of the run is: `script` relative to the project; each prints one line when it is ready. */
export type VictimOptions = {
  readonly name: string;
  readonly script: string;
  readonly env: Readonly<Record<string, string>>;
};

/** A process of the run that is started, killed without warning and started again. */
export class Victim {
  private child: ChildProcess | undefined;
  private firstLine: Promise<string> = Promise.reject(new Error('not started'));
  private words = '';
  /** How often it was killed. */
  kills = 0;
  /** How often it ended by itself, which it should not. */
  falls = 0;

  constructor(private readonly options: VictimOptions) {
    this.firstLine.catch(() => undefined);
  }

  get name(): string {
    return this.options.name;
  }

  /** Starts the process. */
  start(): void {
    const { script, env } = this.options;
    const child = spawn(process.execPath, ['--enable-source-maps', join(root, script)], {
      cwd: root,
      env: { PATH: process.env['PATH'] ?? '', ...env },
      stdio: ['ignore', 'pipe', 'pipe', 'ipc'],
    });
    this.child = child;
    child.stderr?.on('data', (chunk: Buffer) => {
      this.words = (this.words + chunk.toString()).slice(-LAST_WORDS);
    });
    this.firstLine = new Promise((resolve, reject) => {
      child.stdout?.once('data', (chunk: Buffer) => {
        resolve(chunk.toString().trim());
        child.stdout?.resume();
      });
      child.on('error', reject);
      child.on('exit', () => reject(new Error(`${this.name} ended: ${this.words}`)));
    });
    this.firstLine.catch(() => undefined);
    child.on('exit', () => {
      if (this.child === child) this.falls += 1;
    });
  }

  /** The line the running process printed when it was ready. Rejects when it ends before. */
  async ready(): Promise<string> {
    return this.firstLine;
  }

  /** SIGKILL, then a new process at once. */
  async killAndRestart(): Promise<void> {
    const { child } = this;
    if (child === undefined) return;
    this.child = undefined;
    this.kills += 1;
    const gone = hasEnded(child) ? Promise.resolve() : once(child, 'exit');
    child.kill('SIGKILL');
    await gone;
    this.start();
  }

  /** Closes the channel, on which the process stops in order. */
  async stop(): Promise<void> {
    const { child } = this;
    if (child === undefined || hasEnded(child)) return;
    this.child = undefined;
    const gone = once(child, 'exit');
    if (child.connected) child.disconnect();
    await gone;
  }

  /** What it wrote to stderr last. */
  get lastWords(): string {
    return this.words;
  }
}

function hasEnded(child: ChildProcess): boolean {
  return child.exitCode !== null || child.signalCode !== null;
}
