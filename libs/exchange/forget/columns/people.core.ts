import { clear, type Columns, goes, keep, replace, SECRET } from './column.core.js';

const code = keep('code');
const MAILED = { not: 'the hash of a code that was mailed' };

/** Accounts, keepers, clubs, and what the platform keeps of their doings. */
export const PEOPLE_COLUMNS: Columns = {
  account: {
    email: replace('account', 'address', 'account.email'),
    password_hash: replace('account', 'no_password', SECRET),
  },
  account_code: { hash: goes('account', SECRET) },
  session: { device: goes('account', 'account.sessions[].device') },
  refresh_token: { hash: goes('account', SECRET) },
  keeper: {
    name: replace('keeper', 'forgotten_keeper', 'keeper.name'),
    region: clear('keeper', 'keeper.region'),
  },
  club: { name: keep('common'), slug: keep('common'), region: keep('common') },
  club_application: {
    message: goes('keeper', 'clubApplications[].message'),
    reason: goes('keeper', 'clubApplications[].reason'),
  },
  invitation: { email: goes('keeper', 'invitations[].email'), code_hash: goes('keeper', MAILED) },
  club_invitation: { email: goes('keeper', 'clubInvitations[].email'), code_hash: goes('keeper', MAILED) },
  collection: { name: replace('keeper', 'numbered', 'collections[].name') },
  notice: {
    body: replace('worded', 'no_message', 'notices[].body'),
    dedupe_key: code,
    kind: code,
  },
  office: { region: code },
  mail_message: {
    address: goes('account', { not: 'mails to others are theirs' }),
    subject: goes('account', 'mails[].subject'),
    text: goes('account', 'mails[].text'),
    dedupe_key: goes('account', { not: 'a code' }),
    last_error: goes('account', { not: 'what the mail server said; for the operator' }),
  },
  ledger_entry: { action: keep('ledger'), body: keep('ledger'), leaf_hash: keep('ledger'), subjects: keep('ledger') },
  ledger_commitment: {
    path: goes('worded', { not: 'a name of a field' }),
    salt: goes('worded', { not: 'a random number' }),
    value: goes('worded', { not: 'the same text as in the record it is about' }),
  },
  idempotency_record: {
    key: goes('account', { not: 'a code' }),
    outcome: goes('account', { not: 'ids of what was written' }),
    request_hash: goes('account', { not: 'a hash' }),
  },
  outbox_message: { dedupe_key: code, job: code, last_error: code, payload: code, request_id: code },
  job_receipt: { handler: code },
  job_failure: { error: code, job: code, payload: code },
  rate_limit: { key: code },
};
