import nodemailer from 'nodemailer';
import { type MailConfig } from '../config/index.js';

/** A mail as it goes out. The same `id` means the same mail: it is in the Message-ID, by which mailboxes tell repeats. */
export type OutgoingMail = {
  readonly id: string;
  readonly to: string;
  readonly subject: string;
  readonly text: string;
};

/** The mail server said no for good (no such mailbox): trying again would not help. */
export class MailRejected extends Error {}

/** Hands mails to a server. */
export type MailTransport = {
  /** Resolves once the server has taken the mail. Throws MailRejected for a final no, any other error for trouble that may pass. */
  send(mail: OutgoingMail): Promise<void>;
  close(): void;
};

/** Mails by SMTP. `smtps://` and STARTTLS are used where the server offers them; nothing is sent at construction. */
export function smtpTransport({ url, from }: MailConfig): MailTransport {
  const transport = nodemailer.createTransport(url, { from });
  const host = from.replace(/^.*@|>.*$/g, '');
  return {
    send: async ({ id, to, subject, text }) => {
      try {
        await transport.sendMail({
          to,
          subject,
          text,
          messageId: `<${id}@${host}>`,
          // RFC 3834: nobody's holiday notice shall answer.
          headers: { 'Auto-Submitted': 'auto-generated' },
        });
      } catch (error) {
        const { responseCode = 0 } = error as { responseCode?: number };
        if (responseCode >= 500) throw new MailRejected((error as Error).message);
        throw error;
      }
    },
    close: () => transport.close(),
  };
}
