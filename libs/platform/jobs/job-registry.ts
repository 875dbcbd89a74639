import { type Job } from '../outbox/index.js';
import { type AnyJobHandler } from './job-handler.js';

/** Every job and the one handler that does it. */
export class JobRegistry {
  private readonly byName: ReadonlyMap<string, AnyJobHandler>;

  /** Throws, naming the job, unless each job has exactly one handler and each handler one of the jobs. */
  constructor(jobs: readonly Job<unknown>[], handlers: readonly AnyJobHandler[]) {
    const names = new Set<string>();
    for (const { name } of jobs) {
      if (names.has(name)) throw new Error(`Two jobs are called ${name}.`);
      names.add(name);
      const count = handlers.filter((handler) => handler.job.name === name).length;
      if (count !== 1) throw new Error(`Job ${name} has ${count === 0 ? 'no handler' : `${count} handlers`}.`);
    }
    const stray = handlers.find((handler) => !jobs.includes(handler.job));
    if (stray !== undefined) throw new Error(`The handler of ${stray.job.name} handles a job that is not listed.`);
    this.byName = new Map(handlers.map((handler) => [handler.job.name, handler]));
  }

  /** The handler of a job name; undefined for a name nobody handles. */
  handlerOf(name: string): AnyJobHandler | undefined {
    return this.byName.get(name);
  }

  /** Tries of a job before it is given up; 1 for an unknown name, which is not tried again. */
  attemptsOf(name: string): number {
    return this.byName.get(name)?.job.attempts ?? 1;
  }
}
