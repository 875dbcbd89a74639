import { type BeforeApplicationShutdown, Inject, Injectable, Logger } from '@nestjs/common';
import { CONFIG, type Config } from '../../../libs/platform/config/index.js';
import { JobRegistry, JobRunner, Schedules } from '../../../libs/platform/jobs/index.js';
import { MailSender, StopLinks } from '../../../libs/membership/index.js';
import { Clock } from '../../../libs/platform/clock.js';
import { smtpTransport } from '../../../libs/platform/mail/index.js';
import { Relay } from '../../../libs/platform/outbox/index.js';
import { Database, UnitOfWork } from '../../../libs/platform/prisma/index.js';
import { JobConsumer, JobQueue } from '../../../libs/platform/queue/index.js';
import { scheduledTasks } from './schedules.js';

/** The moving parts of the worker: relay, consumer, schedules. Started last, stopped before the database goes. */
@Injectable()
export class WorkerRuntime implements BeforeApplicationShutdown {
  private readonly logger = new Logger('worker');
  private parts:
    | { queue: JobQueue; relay: Relay; consumer: JobConsumer; schedules: Schedules; mails: MailSender | undefined }
    | undefined;
  private started = false;
  private lastTrouble = { text: '', at: 0 };

  constructor(
    @Inject(CONFIG) private readonly config: Config,
    private readonly database: Database,
    private readonly uow: UnitOfWork,
    private readonly registry: JobRegistry,
    private readonly clock: Clock,
  ) {}

  /** Connects to the queue and begins to work. Rejects when the queue's server is not there. */
  async start(): Promise<void> {
    const { client } = this.database;
    const trouble = (error: Error) => this.report(error);
    const runner = new JobRunner(client, this.uow, this.registry);
    const queue = new JobQueue(this.config, trouble);
    const schedules = new Schedules(queue, scheduledTasks(client, queue), trouble);
    const consumer = new JobConsumer(this.config, {
      message: ({ messageId, lastAttempt }) => runner.run(messageId, lastAttempt),
      schedule: (tick) => schedules.run(tick),
      abandoned: (messageId, reason) => runner.abandon(messageId, reason),
      trouble,
    });
    const relay = new Relay(client, queue, (job) => this.registry.attemptsOf(job), trouble);
    // Without a mail server mails stay in the own outbox.
    const { mail } = this.config;
    const mails =
      mail === undefined
        ? undefined
        : new MailSender(client, smtpTransport(mail), new StopLinks(this.config), this.clock, trouble);
    this.parts = { queue, relay, consumer, schedules, mails };
    await Promise.all([queue.ready(), consumer.ready()]);
    await schedules.start();
    consumer.start();
    relay.start();
    mails?.start();
    this.started = true;
  }

  /** What went wrong last, in one line; empty when nothing did. */
  get trouble(): string {
    return this.lastTrouble.text;
  }

  async beforeApplicationShutdown(): Promise<void> {
    if (this.parts === undefined) return;
    const { queue, relay, consumer, schedules, mails } = this.parts;
    schedules.close();
    // Together: a launcher that stops the worker does not wait for ever.
    await Promise.all([relay.close(), consumer.close(), mails?.close()]);
    await queue.close();
  }

  /** A lost connection is reported by every part that used it, again and again: one line in ten seconds is enough. */
  private report(error: Error): void {
    const text = error.message || String((error as NodeJS.ErrnoException).code);
    const known = text === this.lastTrouble.text && Date.now() - this.lastTrouble.at < 10_000;
    if (known) return;
    this.lastTrouble = { text, at: Date.now() };
    if (this.started) this.logger.warn(text);
  }
}
