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

/** Until when a claimant answers; nothing for the other parties. */
function claimDue(dueOn: Day | null, today: Day): string {
  return dueOn === null ? '' : ` Answer by ${whenDue(dueOn, today)}, or your claim lapses.`;
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
  photos_due: (dueOn, today) => ({
    subject: 'New pictures are due',
    line: `The next pictures of a photo documentation in your collection are due.${dueOn === null ? '' : ` The day: ${whenDue(dueOn, today)}.`}`,
  }),
  origin_finding_changed: (dueOn, today) => ({
    subject: 'What the records say of an origin has changed',
    line: `The records of one of your animals now say something else of its origin.${dueOn === null ? '' : ` If it is a slip, you can put it right until ${whenDue(dueOn, today)}.`}`,
  }),
  transfer_offered: (dueOn, today) => ({
    subject: 'Animals are offered to you',
    line: `Another keeper offers you animals through the registry.${dueOn === null ? '' : ` The last day to answer: ${whenDue(dueOn, today)}.`}`,
  }),
  transfer_accepted: () => ({
    subject: 'Your offer was accepted',
    line: 'The other side takes what you offered. You can send it once the conditions you agreed on are settled.',
  }),
  transfer_declined: () => ({
    subject: 'Your offer was declined',
    line: 'The other side does not take what you offered. Nothing has changed hands.',
  }),
  transfer_withdrawn: () => ({
    subject: 'An offer to you was withdrawn',
    line: 'The other side has taken back what it offered you. Nothing has changed hands.',
  }),
  transfer_cancelled: () => ({
    subject: 'A transfer was cancelled',
    line: 'The other side has cancelled a transfer you had agreed on. Its reason stands with the transfer.',
  }),
  transfer_sent: () => ({
    subject: 'Animals are on their way to you',
    line: 'The other side has sent what you agreed on. Say in the registry what has arrived, and how, as soon as it has.',
  }),
  transfer_left_out: () => ({
    subject: 'Some animals were not sent',
    line: 'The other side has left animals out of a transfer to you.',
  }),
  transfer_received: () => ({
    subject: 'What you sent has arrived',
    line: 'The other side has said what arrived of a transfer of yours, and how.',
  }),
  transfer_failure_declared: () => ({
    subject: 'A transfer is said to have failed',
    line: 'The other side says that what was sent came back or never arrived. It stands once you say the same.',
  }),
  transfer_failed: () => ({
    subject: 'A transfer has failed',
    line: 'Both sides have said that a transfer came to nothing.',
  }),
  transfer_condition_settled: () => ({
    subject: 'A condition was settled',
    line: 'The other side has settled a condition of a transfer of yours.',
  }),
  transfer_payment_declared: () => ({
    subject: 'A payment is declared',
    line: 'The other side says that it has paid for a transfer of yours. Confirm it when it has come, or question it.',
  }),
  transfer_payment_confirmed: () => ({
    subject: 'A payment is confirmed',
    line: 'The other side has confirmed a payment you declared.',
  }),
  transfer_payment_questioned: () => ({
    subject: 'A payment is questioned',
    line: 'The other side has questioned a payment you declared. What it says stands with the transfer.',
  }),
  transfer_young_recorded: () => ({
    subject: 'Young of a loan are recorded',
    line: 'The other side of a loan has recorded young of it. Whose they are follows from what you agreed.',
  }),
  transfer_pick_due: () => ({
    subject: 'It is your turn to pick',
    line: 'Young of a loan wait for you to pick, as you agreed.',
  }),
  transfer_loan_day_asked: () => ({
    subject: 'Another last day of a loan is asked for',
    line: 'The other side of a loan asks for another day by which the animals come back. The day stays as it is until you agree.',
  }),
  transfer_loan_day_agreed: (dueOn, today) => ({
    subject: 'Another last day of a loan was agreed',
    line: `The other side has agreed to the day you asked for.${dueOn === null ? '' : ` The last day now: ${whenDue(dueOn, today)}.`}`,
  }),
  transfer_loan_day_declined: () => ({
    subject: 'Another last day of a loan was declined',
    line: 'The other side does not agree to the day you asked for. The last day of the loan stays as it was.',
  }),
  transfer_loan_day_withdrawn: () => ({
    subject: 'An ask for another last day of a loan was taken back',
    line: 'The other side of a loan has taken back its ask for another day. The last day stays as it was.',
  }),
  transfer_loan_recalled: (dueOn, today) => ({
    subject: 'A loan is called back',
    line: `The lender calls animals back that you borrowed, as the terms of the loan allow.${dueOn === null ? '' : ` The last day now: ${whenDue(dueOn, today)}.`}`,
  }),
  loan_due: (dueOn, today) => ({
    subject: 'A loan is due back soon',
    line: `Animals of a loan of yours come back soon.${dueOn === null ? '' : ` The last day you agreed on: ${whenDue(dueOn, today)}.`} Either side can ask the other for another day.`,
  }),
  loan_overdue: (dueOn, today) => ({
    subject: 'A loan was not returned by the day agreed',
    line: `By the records, animals of a loan of yours did not come back by the day agreed${dueOn === null ? '' : `, ${whenDue(dueOn, today)}`}. If they are home, receive the return; either side can ask the other for another day.`,
  }),
  ownership_claimed: () => ({
    subject: 'A keeper claims a share of an animal',
    line: 'Another keeper states that it owns a share of an animal that is yours by the record. You may state your side.',
  }),
  claim_replied: (dueOn, today) => ({
    subject: 'A claim was answered',
    line: `The other side of a claim of ownership has stated its own view.${claimDue(dueOn, today)}`,
  }),
  claim_shares_proposed: (dueOn, today) => ({
    subject: 'Shares of an animal are proposed',
    line: `In a claim of ownership somebody proposes shares. You may agree, or propose others.${claimDue(dueOn, today)}`,
  }),
  claim_shares_agreed: () => ({
    subject: 'A party agrees to shares',
    line: 'In a claim of ownership a party agrees to the shares that are proposed. The claim is settled once all have.',
  }),
  claim_answer_due: (dueOn, today) => ({
    subject: 'Your claim waits for your answer',
    line: `The other side of a claim of ownership has spoken, and you have not answered. If you answer nothing, your claim lapses.${dueOn === null ? '' : ` The last day to answer: ${whenDue(dueOn, today)}.`}`,
  }),
  claim_lapsed: () => ({
    subject: 'A claim has lapsed',
    line: 'A claim of ownership was not answered in time and is over here. What both sides stated stays. Who is right, the registry does not say.',
  }),
  claim_settled: () => ({
    subject: 'A claim is settled',
    line: 'All sides of a claim of ownership agree on the shares.',
  }),
  claim_withdrawn: () => ({
    subject: 'A claim was withdrawn',
    line: 'A claim of ownership was taken back.',
  }),
  offer_expired: (dueOn, today) => ({
    subject: 'An offer has expired',
    line: `Nobody answered an offer in time. Nothing has changed hands.${dueOn === null ? '' : ` The last day to answer was ${whenDue(dueOn, today)}.`}`,
  }),
  theft_reported: () => ({
    subject: 'An animal you have is reported stolen',
    line: 'An owner states that an animal in your hands was stolen. That is a statement, not a finding: you can state your own side once. Do not hand the animal on before you have read the notice.',
  }),
  theft_replied: () => ({
    subject: 'Your report of theft was answered',
    line: 'The other side of a report of theft has stated its own view.',
  }),
  theft_report_closed: () => ({
    subject: 'A report of theft was closed',
    line: 'A report of theft about an animal you have was closed.',
  }),
  mark_found: () => ({
    subject: 'Somebody has found a mark of one of your animals',
    line: 'Somebody read a mark on an animal and has left word for you.',
  }),
  mark_conflict: () => ({
    subject: 'A mark stands twice',
    line: 'Another animal in the registry carries the number of one of yours.',
  }),
  mark_conflict_resolved: () => ({
    subject: 'A mark no longer stands twice',
    line: 'A doubled number of one of your animals is cleared up.',
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
  transfer_countersigned: () => ({
    subject: 'A transfer was countersigned',
    line: 'A countersignature that a transfer of yours waited for was given.',
  }),
  transfer_countersignature_withdrawn: () => ({
    subject: 'A countersignature was taken back',
    line: 'A countersignature of a transfer of yours was taken back: nothing is sent until it is given again.',
  }),
  instalment_due: (dueOn, today) => ({
    subject: 'An instalment falls due',
    line: `A part of a price that property waits for falls due.${dueOn === null ? '' : ` Its day: ${whenDue(dueOn, today)}.`} Declare it in the registry once you have paid it.`,
  }),
  reading_granted: (dueOn, today) => ({
    subject: 'You may read an animal’s record',
    line: `A keeper lets you read the record of an animal as a guest.${dueOn === null ? '' : ` The last day: ${whenDue(dueOn, today)}.`}`,
  }),
  reading_ended: () => ({
    subject: 'Reading as a guest has ended',
    line: 'Reading an animal’s record as a guest was ended before its day.',
  }),
  office_handed_over: (dueOn, today) => ({
    subject: 'An office of a club was handed over',
    line: `An office of a club goes to somebody who acts for a keeper of yours, with all that waits in it.${dueOn === null ? '' : ` The first day: ${whenDue(dueOn, today)}.`}`,
  }),
  transfer_countersignature_awaited: () => ({
    subject: 'A transfer waits for a countersignature',
    line: 'Something is offered for a keeper you act for, and waits for its guardian to countersign.',
  }),
  club_invited: () => ({
    subject: 'A club invites you',
    line: 'A club invites a keeper you act for to become a member.',
  }),
  club_application_made: () => ({
    subject: 'A keeper asks to join your club',
    line: 'A keeper asks to join a club whose registrar you are, and waits for an answer.',
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

/** Notices of one kind in a daily mail: how many, and the first day by which something is due. */
export type DigestLine = { readonly kind: string; readonly count: number; readonly dueOn: Day | null };

/** The mail that tells at once what has come since the last of its kind, the most pressing first. */
export function digestMail(lines: readonly DigestLine[], today: Day): NoticeMail {
  const pressing = [...lines].sort((a, b) => (a.dueOn ?? LAST).localeCompare(b.dueOn ?? LAST));
  const said = pressing.map(({ kind, count, dueOn }) => {
    const { subject } = (WORDS[kind] ?? other)(dueOn, today);
    const often = count === 1 ? '' : ` (${count} times)`;
    return `- ${subject}${often}${dueOn === null ? '' : `: ${whenDue(dueOn, today)}`}`;
  });
  const count = lines.reduce((sum, line) => sum + line.count, 0);
  return {
    subject: `Kithbook: ${count === 1 ? 'one notice' : `${count} notices`} since your last daily mail`,
    text: `${said.join('\n')}\n\nSign in to Kithbook and open your notices to read what it is about.\n\n${CARE}\n`,
  };
}

/** Sorts behind every day. */
const LAST = '9999-12-31';
