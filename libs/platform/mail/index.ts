/** Mails that leave the registry. */
export { MailRejected, type MailTransport, type OutgoingMail, smtpTransport } from './mail-transport.js';
