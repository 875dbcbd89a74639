import { type Day, daysBetween } from '../../kernel/index.js';

/** A mail about a notice, plain text. */
export type NoticeMail = { readonly subject: string; readonly text: string };

type Words = { readonly subject: string; readonly line: string };

/** When something falls due, seen from `today`: `2026-09-30 (in 30 days)`. */
function whenDue(dueOn: Day, today: Day): string {
  const days = daysBetween(today, dueOn);
  if (days === 0) return `${dueOn} (today)`;
  const count = Math.abs(days) === 1 ? '1 day' : `${Math.abs(days)} days`;
  return days > 0 ? `${dueOn} (in ${count})` : `${dueOn} (${count} ago)`;
}

/** What a mail says of each kind of notice: never a name, a number, an animal or a place, because a mailbox is not the registry. */
const WORDS: Readonly<Record<string, (dueOn: Day | null, today: Day) => Words>> = {
  arrival_quarantine: (dueOn, today) => ({
    subject: 'Arrival quarantine has begun',
    line: `Animals have come to you and are kept apart for a while.${dueOn === null ? '' : ` The first day their quarantine may end: ${whenDue(dueOn, today)}.`}`,
  }),
  quarantine_ends: (dueOn, today) => ({
    subject: 'A quarantine may end',
    line: `The days of a quarantine in your collection are over.${dueOn === null ? '' : ` The first day it may end: ${whenDue(dueOn, today)}.`}`,
  }),
  origin_finding_changed: (dueOn, today) => ({
    subject: 'What the records say of an origin has changed',
    line: `The records of one of your animals now say something else of its origin.${dueOn === null ? '' : ` If it is a slip, you can put it right until ${whenDue(dueOn, today)}.`}`,
  }),
  thread_opened: () => ({
    subject: 'A keeper asks about one of your animals',
    line: 'Another keeper asks you something through the registry. You are not named to each other until you choose so.',
  }),
  thread_message: () => ({
    subject: 'A message in one of your threads',
    line: 'Somebody has written to you through the registry.',
  }),
  thread_closed: () => ({
    subject: 'A thread was closed',
    line: 'The other side has closed a thread with you.',
  }),
  club_application_answered: () => ({
    subject: 'A club has answered you',
    line: 'A club has answered the question whether you may join.',
  }),
  club_membership_ended: () => ({
    subject: 'A membership has ended',
    line: 'A club has ended your membership. Your records, lineage and animals stay as they are.',
  }),
  document_expiry: (dueOn, today) => {
    const lapsed = dueOn !== null && dueOn < today;
    return {
      subject: lapsed ? 'A holding document has lapsed' : 'A holding document is about to lapse',
      line: `One of your holding documents ${lapsed ? 'has lapsed' : 'is about to lapse'}.${dueOn === null ? '' : ` Its last valid day: ${whenDue(dueOn, today)}.`}`,
    };
  },
};

const other = (dueOn: Day | null, today: Day): Words => ({
  subject: 'Something to know about your collection',
  line: `The registry has a notice for you.${dueOn === null ? '' : ` Due: ${whenDue(dueOn, today)}.`}`,
});

const CARE =
  'This is a reminder, not legal or veterinary advice: the licensing authority and a licensed veterinarian decide.';

/** The mail that goes out with a notice of `kind`; a kind without words of its own gets general ones. */
export function noticeMail(notice: { readonly kind: string; readonly dueOn: Day | null }, today: Day): NoticeMail {
  const { subject, line } = (WORDS[notice.kind] ?? other)(notice.dueOn, today);
  return {
    subject: `Kithbook: ${subject}`,
    text: `${line}\n\nSign in to Kithbook and open your notices to read what it is about.\n\n${CARE}\n`,
  };
}
