import { setTimeout as sleep } from 'node:timers/promises';
import { MailRejected, type MailTransport, type OutgoingMail } from '../../platform/mail/index.js';
import { type Clock } from '../../platform/clock.js';
import { type PrismaClient } from '../../platform/prisma/index.js';
import { stopsInWords } from '../notices/mail-stop-page.core.js';
import { type StopLinks } from '../notices/stop-links.js';
import { markFailed, markSent, takeMails, type WaitingMail } from './system-mail.store.js';

const BATCH = 20;
/** Milliseconds between two looks at the waiting mails. */
const POLL = 5_000;
/** Longest wait before a failed mail is tried again. */
const LONGEST_WAIT = 6 * 3_600_000;

/**
 * Sends mails that wait. Any number may run at once. Sending is outside of any transaction, so a mail may go out twice when a
 * process is killed between the server's yes and the note of it; it is never lost.
 */
export class MailSender {
  private readonly stopping = new AbortController();
  private running: Promise<void> | undefined;

  constructor(
    private readonly client: PrismaClient,
    private readonly transport: MailTransport,
    private readonly links: StopLinks,
    private readonly clock: Clock,
    private readonly onTrouble: (error: Error) => void,
  ) {}

  /** One round. Gives how many mails were tried. */
  async pass(): Promise<number> {
    const mails = await takeMails(this.client, this.clock.now(), BATCH);
    for (const mail of mails) await this.trySend(mail);
    return mails.length;
  }

  /** Works until `close`. */
  start(): void {
    this.running ??= this.loop();
  }

  /** Finishes the round that is under way. */
  async close(): Promise<void> {
    this.stopping.abort();
    await this.running;
    this.transport.close();
  }

  private async trySend(mail: WaitingMail): Promise<void> {
    try {
      await this.transport.send(this.outgoing(mail));
    } catch (error) {
      const { message } = error as Error;
      const wait = Math.min(60_000 * 2 ** mail.attempts, LONGEST_WAIT);
      const dueAt = error instanceof MailRejected ? null : new Date(this.clock.now().getTime() + wait);
      await markFailed(this.client, mail.id, message, dueAt);
      // Who it was to is not for the log.
      this.onTrouble(new Error(`A mail could not be sent (${error instanceof MailRejected ? 'refused' : 'trouble'}).`));
      return;
    }
    await markSent(this.client, mail.id, this.clock.now());
  }

  /** With the link that ends more of its kind, where that is the reader's to choose. */
  private outgoing({ id, to, subject, text, accountId, group, digest }: WaitingMail): OutgoingMail {
    const stops = digest ? 'digest' : group;
    if (accountId === null || stops === null) return { id, to, subject, text };
    const stopLink = this.links.linkFor({ accountId, stops });
    return { id, to, subject, text: `${text}\nTo stop ${stopsInWords(stops)}: ${stopLink}\n`, stopLink };
  }

  private async loop(): Promise<void> {
    const { signal } = this.stopping;
    while (!signal.aborted) {
      const tried = await this.pass().catch((error: unknown) => {
        this.onTrouble(error instanceof Error ? error : new Error(String(error)));
        return 0;
      });
      await sleep(tried === BATCH ? 0 : POLL, undefined, { signal }).catch(() => undefined);
    }
  }
}
