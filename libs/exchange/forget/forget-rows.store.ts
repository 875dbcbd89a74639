import { type Replacement, type RowSet } from './columns/column.core.js';
import { FORGOTTEN_ADDRESS, FORGOTTEN_KEEPER, REMOVED } from './forget.core.js';

/**
 * Of whom a statement is. Every statement begins with it, so that all of them take the same parameters: the account, the keepers
 * that are forgotten, everybody who ever acted for one of them, those of them who never acted for another keeper, the address,
 * the hash of a password nobody knows, the moment, and the Idempotency-Key of the request.
 */
export const WHOM = `WITH whom AS (SELECT $1::uuid AS account, $2::uuid[] AS keepers, $3::uuid[] AS people,
  $4::uuid[] AS only_theirs, $5::text AS email, $6::text AS no_password, $7::timestamptz AS now, $8::text AS request_key)`;

const ACCOUNT = '(SELECT account FROM whom)';
const EMAIL = '(SELECT email FROM whom)';
const KEEPERS = 'ANY((SELECT keepers FROM whom)::uuid[])';
const PEOPLE = 'ANY((SELECT people FROM whom)::uuid[])';
const text = (value: string): string => `'${value.replaceAll("'", "''")}'`;

const theirAnimals = `(SELECT animal_id FROM animal_access WHERE keeper_id = ${KEEPERS} AND relation IN ('holder', 'owner'))`;
/** Transfers a forgotten keeper gave or received, also as an outside party that took its animals up later. */
const theirTransfers = `(SELECT x.id FROM transfer x LEFT JOIN outside_party o ON o.id = x.to_outside_party_id
  WHERE x.from_keeper_id = ${KEEPERS} OR x.to_keeper_id = ${KEEPERS} OR o.taken_up_by_keeper = ${KEEPERS})`;
/** Somebody who is not forgotten has an animal that some version of the document covers. */
const neededByOthers = `EXISTS (SELECT FROM holding_document v JOIN document_cover c ON c.document_id = v.id
  JOIN custody h ON h.animal_id = c.animal_id AND h.superseded_at IS NULL AND h.valid_to IS NULL
  WHERE v.original_id = d.original_id AND h.keeper_id IS NOT NULL AND NOT h.keeper_id = ${KEEPERS})`;
const documents = (needed: boolean): string =>
  `(SELECT d.id FROM holding_document d WHERE d.keeper_id = ${KEEPERS} AND ${needed ? '' : 'NOT '}${neededByOthers})`;
const written = (animal: string): string => `t.recorded_by = ${PEOPLE} AND t.${animal} IN ${theirAnimals}`;
/** Told by the row of `table` that took the place of `t`: by its `writer`, a column that is among `whose`. */
const corrected = (table: string, animal: string, writer = 'recorded_by', whose = PEOPLE): string =>
  `t.superseded_at IS NOT NULL AND t.${animal} IN ${theirAnimals}
    AND coalesce((SELECT s.${writer} FROM ${table} s WHERE s.id = t.superseded_by), t.${writer}) = ${whose}`;
/** What was recorded for whoever had the egg then: where nothing else is said, the keeper of its clutch. */
const belowClutch = `coalesce(t.keeper_id, (SELECT c.keeper_id FROM clutch c WHERE c.id = t.clutch_id)) = ${KEEPERS}`;

/** Which rows `t` of a table a set names; a table stands before the general condition of its set. */
const CONDITIONS: Readonly<Record<RowSet, Readonly<Record<string, string>>>> = {
  account: {
    account: `t.id = ${ACCOUNT}`,
    refresh_token: `t.session_id IN (SELECT id FROM session WHERE account_id = ${ACCOUNT})`,
    // An invitation that is over keeps no address, but its mail does.
    mail_message: `t.account_id = ${ACCOUNT} OR t.address = ${EMAIL} OR (t.address IS NOT NULL AND split_part(t.dedupe_key, ':', 2) IN (
      SELECT id::text FROM invitation WHERE keeper_id = ${KEEPERS} OR invited_by = ${ACCOUNT}
      UNION SELECT id::text FROM club_invitation WHERE invited_by = ${ACCOUNT}))`,
    // The key of this very request stays: its outcome, ids only, is written once the rest is done.
    idempotency_record: `t.account_id = ${ACCOUNT} AND t.key IS DISTINCT FROM (SELECT request_key FROM whom)`,
    '*': `t.account_id = ${ACCOUNT}`,
  },
  keeper: {
    keeper: `t.id = ${KEEPERS}`,
    club_invitation: `t.keeper_id = ${KEEPERS} OR t.invited_by = ${ACCOUNT} OR t.email = ${EMAIL}`,
    invitation: `t.keeper_id = ${KEEPERS} OR t.invited_by = ${ACCOUNT} OR t.email = ${EMAIL}`,
    photo_session_file: `t.file_id IN (SELECT id FROM animal_file WHERE keeper_id = ${KEEPERS})`,
    transfer_arrival_photo: `t.file_id IN (SELECT id FROM animal_file WHERE keeper_id = ${KEEPERS})`,
    ask_message: `EXISTS (SELECT FROM ask_thread a WHERE a.id = t.thread_id
      AND CASE t.side WHEN 'asker' THEN a.asker_keeper_id ELSE a.holder_keeper_id END = ${KEEPERS})`,
    '*': `t.keeper_id = ${KEEPERS}`,
  },
  written: {
    parentage_claim: written('child_id'),
    lot_change: written('lot_id'),
    record_merge: written('keep_id'),
    '*': written('animal_id'),
  },
  corrected: {
    animal_fact: corrected('animal_fact', 'animal_id', 'keeper_id', KEEPERS),
    animal_mark: corrected('animal_mark', 'animal_id'),
    parentage_claim: corrected('parentage_claim', 'child_id'),
    lot_change: corrected('lot_change', 'lot_id'),
    custody: corrected('custody', 'animal_id'),
    ownership: corrected('ownership', 'animal_id'),
  },
  below: {
    placement: `t.enclosure_id IN (SELECT id FROM enclosure WHERE keeper_id = ${KEEPERS})`,
    '*': belowClutch,
  },
  given: {
    loan_terms: `t.transfer_id IN (SELECT id FROM transfer WHERE from_keeper_id = ${KEEPERS})`,
    '*': `t.from_keeper_id = ${KEEPERS} AND t.title::text <> 'when_paid'`,
  },
  dealt: { transfer: `t.id IN ${theirTransfers}`, '*': `t.transfer_id IN ${theirTransfers}` },
  received: { '*': `t.transfer_id IN (SELECT id FROM transfer WHERE to_keeper_id = ${KEEPERS})` },
  parties: { '*': `t.recorded_for = ${KEEPERS} OR t.taken_up_by_keeper = ${KEEPERS}` },
  unneeded: {
    holding_document: `t.id IN ${documents(false)}`,
    '*': `t.document_id IN ${documents(false)}`,
  },
  needed: { holding_document: `t.id IN ${documents(true)}`, '*': `t.document_id IN ${documents(true)}` },
  reported: { '*': `t.keeper_id = ${KEEPERS}` },
  answered: { '*': `t.respondent_id = ${KEEPERS}` },
  claimed: { '*': `t.claimant_id = ${KEEPERS}` },
  worded: {
    // What the account told keepers of marks it had found lies in their notices.
    notice: `t.kind = 'mark_found' AND t.id IN (SELECT jsonb_array_elements_text(e.body::jsonb -> 'noticeIds')::uuid
      FROM ledger_entry e WHERE e.action = 'animal.keeper-told-of-mark' AND e.actor_id = ${ACCOUNT})`,
    ledger_commitment: `lower(t.value) = ${EMAIL} OR t.entry_id IN (SELECT e.id FROM ledger_entry e
      WHERE e.actor_id = ${ACCOUNT} OR e.actor_id = ANY((SELECT only_theirs FROM whom)::uuid[])
        OR e.subjects && ((SELECT account || keepers FROM whom) || ARRAY(SELECT id FROM ${theirTransfers} AS x(id)))
        OR (e.actor_id = ${PEOPLE} AND (e.subjects && ARRAY(SELECT animal_id FROM ${theirAnimals} AS y(animal_id))
          OR EXISTS (SELECT FROM unnest((SELECT keepers FROM whom)) AS k(id) WHERE strpos(e.body, k.id::text) > 0))))`,
  },
};

/** The condition on rows `t` of a table. Throws where the set has none for it. */
export function rowsOf(table: string, rows: RowSet): string {
  const condition = CONDITIONS[rows][table] ?? CONDITIONS[rows]['*'];
  if (condition === undefined) throw new Error(`No rows ${rows} of ${table}.`);
  return condition;
}

/** What a column `c` of `t` becomes. */
export const REPLACEMENTS: Readonly<Record<Replacement, (column: string) => string>> = {
  address: () => `${text(FORGOTTEN_ADDRESS)} || t.id::text`,
  no_password: () => '(SELECT no_password FROM whom)',
  forgotten_keeper: () => text(FORGOTTEN_KEEPER),
  somebody: () => `CASE WHEN t.taken_up_by_keeper = ${KEEPERS} THEN ${text(FORGOTTEN_KEEPER)} ELSE 'Somebody' END`,
  removed: (column) => `CASE WHEN t."${column}" IS NOT NULL THEN ${text(REMOVED)} END`,
  unnamed: () => `'Removed'`,
  numbered: () => `'Removed ' || t.id::text`,
  // Notes say what their keeper thought; of the other facts only who is named in them goes.
  without_people: () =>
    `CASE WHEN t.kind = 'note' THEN jsonb_set(t.body, '{text}', to_jsonb(${text(REMOVED)}::text)) ELSE t.body - 'statedBy' - 'foundBy' END`,
  no_message: () => `jsonb_set(t.body, '{message}', to_jsonb(${text(REMOVED)}::text))`,
};

/** Tables whose rows go, those first that hang on others. */
export const DELETIONS: readonly (readonly [table: string, rows: RowSet])[] = [
  ['refresh_token', 'account'],
  ['session', 'account'],
  ['account_code', 'account'],
  ['mail_message', 'account'],
  ['idempotency_record', 'account'],
  ['mail_choice', 'account'],
  ['digest_item', 'account'],
  ['notice_read', 'account'],
  ['invitation', 'keeper'],
  ['club_invitation', 'keeper'],
  ['club_application', 'keeper'],
  ['notice', 'keeper'],
  ['breeding_availability', 'keeper'],
  ['photo_session_file', 'keeper'],
  ['transfer_arrival_photo', 'keeper'],
  ['animal_file', 'keeper'],
  ['document_file', 'unneeded'],
  ['document_cover', 'unneeded'],
  ['holding_document', 'unneeded'],
  ['ledger_commitment', 'worded'],
];
