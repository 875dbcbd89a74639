import { EventEmitter, once } from 'node:events';
import pg from 'pg';

/**
 * Tells when a process of the run has just committed: the moment at which a kill hurts most, after the work is in the
 * tables and before the queue or the client has heard of it. Processes are told apart by their `application_name`.
 */
export class CommitWatch {
  private readonly emitter = new EventEmitter();
  private readonly client: pg.Client;

  constructor(databaseUrl: string) {
    this.client = new pg.Client({ connectionString: databaseUrl });
    this.client.on('notification', ({ payload }) => this.emitter.emit(payload ?? ''));
  }

  async start(): Promise<void> {
    await this.client.connect();
    await this.client.query('LISTEN fault_commit');
  }

  /** Resolves at the next commit of the process; stays pending when there is none before `signal`. */
  async next(applicationName: string, signal: AbortSignal): Promise<void> {
    await once(this.emitter, applicationName, { signal });
  }

  async close(): Promise<void> {
    await this.client.end();
  }
}

/** The address with a name for the process that uses it. */
export function named(databaseUrl: string, applicationName: string): string {
  const url = new URL(databaseUrl);
  url.searchParams.set('application_name', applicationName);
  return url.href;
}
