import { setTimeout as sleep } from 'node:timers/promises';
import { type JobQueue } from '../queue/index.js';

/**
 * Work that comes round by the clock. `run` computes its effect from `slot`, the time the schedule asked for, so that
 * running twice for one slot, or late, does the same as once.
 */
export type ScheduledTask = {
  readonly name: string;
  /** Cron pattern, in UTC. */
  readonly pattern: string;
  run(slot: Date): Promise<void>;
};

/** Milliseconds between two looks whether the queue still knows the timetable: a wiped queue has forgotten it. */
const RENEWAL = 10 * 60_000;

/** The timetable of a worker. Several workers with the same tasks share it: each slot is delivered to one of them. */
export class Schedules {
  private readonly byName: ReadonlyMap<string, ScheduledTask>;
  private readonly stopping = new AbortController();

  constructor(
    private readonly queue: JobQueue,
    tasks: readonly ScheduledTask[],
    private readonly onTrouble: (error: Error) => void,
  ) {
    this.byName = new Map(tasks.map((task) => [task.name, task]));
  }

  /**
   * Gives the queue the timetable, ends what is no longer on it, and keeps it there until `close`. Every task runs once at
   * once: a machine that is off at night would never come to its nightly work, and a slot done twice is done once.
   */
  async start(): Promise<void> {
    await this.install();
    for (const task of this.byName.values()) await task.run(new Date()).catch(this.onTrouble);
    void this.keepInstalled();
  }

  /** Runs the task of a tick. A name that is no longer on the timetable is ignored: an older version left it. */
  async run(tick: { name: string; slot: Date }): Promise<void> {
    await this.byName.get(tick.name)?.run(tick.slot);
  }

  close(): void {
    this.stopping.abort();
  }

  private async install(): Promise<void> {
    for (const name of await this.queue.scheduled()) {
      if (!this.byName.has(name)) await this.queue.unschedule(name);
    }
    for (const task of this.byName.values()) await this.queue.schedule(task);
  }

  private async keepInstalled(): Promise<void> {
    const { signal } = this.stopping;
    while (!signal.aborted) {
      await sleep(RENEWAL, undefined, { signal }).catch(() => undefined);
      if (!signal.aborted) await this.install().catch(this.onTrouble);
    }
  }
}
