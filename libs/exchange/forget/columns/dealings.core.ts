import { clear, type Columns, CORRECTION, keep, replace } from './column.core.js';

const code = keep('code');

/** What people had to do with one another: custody, transfers, threads, theft. */
export const DEALING_COLUMNS: Columns = {
  outside_party: {
    name: replace('parties', 'somebody', 'outsideParties[].name'),
    contact: clear('parties', 'outsideParties[].contact'),
  },
  custody: { arrived_by: code, left_by: code, reason: clear('corrected', CORRECTION) },
  ownership: { reason: clear('corrected', CORRECTION) },
  transfer: {
    message: clear('dealt', 'transfers[].message'),
    price_currency: clear('given', 'transfers[].price.currency'),
    price_minor: clear('given', 'transfers[].price.minor'),
    carrier: clear('dealt', 'transfers[].carrier'),
    tracking: clear('dealt', 'transfers[].tracking'),
    ended_reason: clear('dealt', 'transfers[].endedReason'),
    claim_code_hash: code,
  },
  loan_terms: {
    value_minor: clear('given', 'transfers[].loanTerms.value.minor'),
    value_currency: clear('given', 'transfers[].loanTerms.value.currency'),
  },
  transfer_payment: {
    note: clear('dealt', 'transfers[].payments[].note'),
    answer_note: clear('dealt', 'transfers[].payments[].answerNote'),
  },
  hand_over_code: { code_hash: code },
  ownership_claim: { statement: replace('claimed', 'removed', 'ownershipClaims[].statement') },
  ownership_claim_party: { reply: replace('keeper', 'removed', 'ownershipClaims[].parties[].reply') },
  transfer_item: { note: clear('received', 'transfers[].items[].note') },
  transfer_condition: { text: replace('dealt', 'removed', 'transfers[].conditions[].text') },
  record_paper: { check_code: code, content: keep('animal'), content_hash: code },
  ask_message: { text: replace('keeper', 'removed', 'threads[].messages[].text') },
  theft_report: {
    statement: clear('reported', 'theftReports[].statement'),
    police_reference: clear('reported', 'theftReports[].policeReference'),
    reply: replace('answered', 'removed', 'theftReports[].reply'),
  },
};
