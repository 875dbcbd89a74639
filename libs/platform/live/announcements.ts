import { setTimeout as sleep } from 'node:timers/promises';
import { Inject, Injectable, Logger, type OnApplicationShutdown } from '@nestjs/common';
import pg from 'pg';
import { z } from 'zod';
import { unavailable } from '../../kernel/index.js';
import { CONFIG, type Config } from '../config/index.js';

/** The channel on which the database announces committed changes; the triggers that do so are in the migrations. */
const CHANNEL = 'kithbook_live';
/** Milliseconds: the first pause after a lost connection, and the longest. */
const FIRST_PAUSE = 250;
const LONGEST_PAUSE = 15_000;
/** Milliseconds between two looks whether a silent connection still answers, and how long it may take. */
const LOOK = 30_000;
const PATIENCE = 5_000;

const announcement = z.object({
  about: z.enum(['transfer', 'thread', 'notice', 'session']),
  id: z.uuid(),
  keepers: z.array(z.uuid()),
});

/** Something that was committed: what it is about, its id, and the keepers it concerns. It shows nobody anything by itself. */
export type Announcement = z.infer<typeof announcement>;

/** Hears announcements; `gap` says that some may have been missed. */
export type Hearer = { heard(news: Announcement): void; gap(): void };

/** The one connection of a process that listens to the database. It opens on first use and comes back when it is lost. */
@Injectable()
export class Announcements implements OnApplicationShutdown {
  private readonly logger = new Logger('live');
  private readonly hearers = new Set<Hearer>();
  private readonly stopping = new AbortController();
  private running: Promise<void> | undefined;
  private listening = false;
  private waiting: (() => void)[] = [];

  constructor(@Inject(CONFIG) private readonly config: Pick<Config, 'databaseUrl'>) {}

  /** Adds one who hears everything from now on. */
  add(hearer: Hearer): void {
    this.hearers.add(hearer);
  }

  /** Resolves once the process listens: what is committed after that is not missed unsaid. UNAVAILABLE after five seconds. */
  async ready(): Promise<void> {
    this.running ??= this.run();
    if (this.listening) return;
    const opened = new Promise<void>((resolve) => this.waiting.push(resolve));
    await Promise.race([opened, sleep(PATIENCE, undefined, { ref: false })]);
    if (!this.listening) throw unavailable('The announcement of changes');
  }

  async onApplicationShutdown(): Promise<void> {
    this.stopping.abort();
    await this.running;
  }

  private async run(): Promise<void> {
    const { signal } = this.stopping;
    let pause = FIRST_PAUSE;
    for (let first = true; !signal.aborted; first = false) {
      const client = new pg.Client({
        connectionString: this.config.databaseUrl,
        connectionTimeoutMillis: PATIENCE,
        application_name: 'kithbook live',
      });
      const lost = new Promise<'lost'>((resolve) => {
        client.on('error', () => resolve('lost'));
        client.on('end', () => resolve('lost'));
      });
      client.on('notification', ({ payload }) => this.pass(payload));
      try {
        await client.connect();
        await client.query(`LISTEN ${CHANNEL}`);
        pause = FIRST_PAUSE;
        this.opened(first);
        await this.watch(client, lost);
      } catch (error) {
        if (!signal.aborted) this.logger.warn(`not listening to changes: ${(error as Error).message}`);
      }
      this.listening = false;
      await Promise.race([client.end().catch(() => undefined), sleep(PATIENCE, undefined, { ref: false })]);
      await sleep(pause, undefined, { signal }).catch(() => undefined);
      pause = Math.min(pause * 2, LONGEST_PAUSE);
    }
  }

  private opened(first: boolean): void {
    this.listening = true;
    for (const resolve of this.waiting.splice(0)) resolve();
    if (!first) for (const hearer of this.hearers) hearer.gap();
  }

  /** Returns when the connection is lost or the process stops: a cut cable says nothing, so the server is asked now and then. */
  private async watch(client: pg.Client, lost: Promise<'lost'>): Promise<void> {
    const { signal } = this.stopping;
    const stopped = new Promise<'lost'>((resolve) => {
      signal.addEventListener('abort', () => resolve('lost'), { once: true });
    });
    for (;;) {
      const quiet = sleep(LOOK, 'quiet' as const, { ref: false });
      if ((await Promise.race([lost, stopped, quiet])) === 'lost') return;
      const answer = client.query('SELECT 1').then(
        () => 'alive' as const,
        () => 'lost' as const,
      );
      const late = sleep(PATIENCE, 'lost' as const, { ref: false });
      if ((await Promise.race([answer, late])) === 'lost') return;
    }
  }

  private pass(payload: string | undefined): void {
    const news = announcement.safeParse(parse(payload ?? ''));
    if (!news.success) return;
    for (const hearer of this.hearers) hearer.heard(news.data);
  }
}

function parse(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    return null;
  }
}
