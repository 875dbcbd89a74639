import nodemailer from 'nodemailer';
import { type MailConfig } from '../config/index.js';

/** A mail as it goes out. The same `id` means the same mail: it is in the Message-ID, by which mailboxes tell repeats. */
export type OutgoingMail = {
  readonly id: string;
  readonly to: string;
  readonly subject: string;
  readonly text: string;
  /** Where a POST ends more mails like this one. */
  readonly stopLink?: string;
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
    send: async ({ id, to, subject, text, stopLink }) => {
      try {
        await transport.sendMail({
          to,
          subject,
          text,
          messageId: `<${id}@${host}>`,
          // RFC 3834: nobody's holiday notice shall answer.
          headers: { 'Auto-Submitted': 'auto-generated', ...stopHeaders(stopLink) },
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

/** RFC 2369, and RFC 8058's one click where the link is https, as it demands. */
function stopHeaders(link: string | undefined): Record<string, string> {
  if (link === undefined) return {};
  const oneClick = { 'List-Unsubscribe-Post': 'List-Unsubscribe=One-Click' };
  return { 'List-Unsubscribe': `<${link}>`, ...(link.startsWith('https:') ? oneClick : {}) };
}
