/** Kinds of notices that a person chooses together how to be mailed about. */
export const NOTICE_GROUPS = [
  'transfers',
  'threads',
  'health',
  'documents',
  'origins',
  'membership',
  'marks',
  'thefts',
  'other',
] as const;
export type NoticeGroup = (typeof NOTICE_GROUPS)[number];

/** How an account is mailed about a group. In the registry every notice stands, whatever it chose. */
export const MAIL_PACES = ['at_once', 'daily', 'none'] as const;
export type MailPace = (typeof MAIL_PACES)[number];

/** What an account chose for one group. */
export type MailChoice = { readonly group: NoticeGroup; readonly pace: MailPace };

/** Null: mailed at once, whatever was chosen. */
const GROUP_OF: Readonly<Record<string, NoticeGroup | null>> = {
  transfer_offered: 'transfers',
  transfer_accepted: 'transfers',
  transfer_declined: 'transfers',
  transfer_withdrawn: 'transfers',
  transfer_cancelled: 'transfers',
  transfer_sent: 'transfers',
  transfer_left_out: 'transfers',
  transfer_received: 'transfers',
  transfer_failure_declared: 'transfers',
  transfer_failed: 'transfers',
  transfer_condition_settled: 'transfers',
  transfer_payment_declared: 'transfers',
  transfer_payment_confirmed: 'transfers',
  transfer_payment_questioned: 'transfers',
  transfer_young_recorded: 'transfers',
  transfer_pick_due: 'transfers',
  transfer_loan_day_asked: 'transfers',
  transfer_loan_day_agreed: 'transfers',
  transfer_loan_day_declined: 'transfers',
  transfer_loan_day_withdrawn: 'transfers',
  transfer_loan_recalled: 'transfers',
  loan_due: 'transfers',
  loan_overdue: 'transfers',
  transfer_countersignature_awaited: 'transfers',
  transfer_countersigned: 'transfers',
  transfer_countersignature_withdrawn: 'transfers',
  offer_expired: 'transfers',
  instalment_due: 'transfers',
  // An owner’s property is frozen from that moment, and offers it had made cannot be carried out.
  ownership_claimed: null,
  claim_replied: 'transfers',
  claim_shares_proposed: 'transfers',
  claim_shares_agreed: 'transfers',
  claim_answer_due: 'transfers',
  claim_settled: 'transfers',
  claim_withdrawn: 'transfers',
  claim_lapsed: 'transfers',
  thread_opened: 'threads',
  thread_message: 'threads',
  thread_closed: 'threads',
  arrival_quarantine: 'health',
  quarantine_ends: 'health',
  document_expiry: 'documents',
  origin_finding_changed: 'origins',
  club_application_made: 'membership',
  club_application_answered: 'membership',
  club_membership_ended: 'membership',
  club_invited: 'membership',
  office_handed_over: 'membership',
  reading_granted: 'membership',
  reading_ended: 'membership',
  photos_due: 'marks',
  mark_found: 'marks',
  mark_conflict: 'marks',
  mark_conflict_resolved: 'marks',
  // An owner says that an animal in this keeper's hands was stolen. The keeper may state their side, and whoever hands it on
  // unawares can make themselves liable: this must not wait for a morning, nor be lost to a choice made long before.
  theft_reported: null,
  theft_replied: 'thefts',
  theft_report_closed: 'thefts',
};

/** The group a kind of notice belongs to; null for one that is always mailed at once. A kind without a place is `other`. */
export function noticeGroup(kind: string): NoticeGroup | null {
  const known = GROUP_OF[kind];
  return known === undefined ? 'other' : known;
}

/** How an account is mailed about a kind, from what it chose. */
export function paceOf(kind: string, chosen: ReadonlyMap<NoticeGroup, MailPace>): MailPace {
  const group = noticeGroup(kind);
  return (group === null ? undefined : chosen.get(group)) ?? 'at_once';
}

/** What a person chose for every group; where they chose nothing they are mailed at once. */
export function allChoices(chosen: ReadonlyMap<NoticeGroup, MailPace>): MailChoice[] {
  return NOTICE_GROUPS.map((group) => ({ group, pace: chosen.get(group) ?? 'at_once' }));
}
