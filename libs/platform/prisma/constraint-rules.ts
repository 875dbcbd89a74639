import { type Refusal } from '../../kernel/index.js';

const refusal = (rule: Uppercase<string>, message: string): Refusal => ({ rule, message });

/**
 * What a person reads when a constraint has the last word in a race. Every other constraint of the database is a bug if
 * it is ever hit, listed as such in `BUG_IF_HIT`; tests/contract/constraints.spec.ts holds both lists against the server.
 */
export const CONSTRAINT_RULES: Readonly<Record<string, Refusal>> = {
  ask_thread_one_open: refusal(
    'THREAD_OPEN',
    'A thread of this keeper about this animal is open already. Write in that one, or close it first.',
  ),
  account_email_key: refusal(
    'EMAIL_TAKEN',
    'An account with this e-mail address exists. Sign in, or use another address.',
  ),
  club_slug_key: refusal('CLUB_NAME_TAKEN', 'A club with this short name exists. Choose another.'),
  custody_no_overlap: refusal(
    'CUSTODY_OVERLAPS',
    'The animal already has a holder on some of these days. Read its record again.',
  ),
  ownership_no_overlap: refusal(
    'OWNERSHIP_OVERLAPS',
    'The animal already has owners on some of these days. Read its record again.',
  ),
  transfer_item_one_open: refusal(
    'TRANSFER_OPEN',
    'One of the animals is in another open transfer. Withdraw or finish that one first.',
  ),
  lot_balances: refusal(
    'LOT_OUT_OF_BALANCE',
    'The lot was changed by somebody else at the same moment. Read its count again.',
  ),
  parentage_claim_one_in_force: refusal(
    'PARENT_CHANGED',
    'Somebody else recorded this parent at the same moment. Read the record again.',
  ),
  record_merge_one_in_force: refusal(
    'RECORD_MERGED',
    'Somebody else merged this record at the same moment. Read it again; what it says goes on in the record kept.',
  ),
  placement_no_overlap: refusal(
    'PLACEMENT_OVERLAPS',
    'The animal is already placed in an enclosure on some of these days. End that stay first.',
  ),
  hatching_one_in_force: refusal(
    'HATCHING_RECORDED',
    'Another clutch is already recorded for this animal. Supersede that record first.',
  ),
  quarantine_entry_one_open: refusal(
    'ALREADY_IN_QUARANTINE',
    'The animal is already in a quarantine group. Let it leave that one first.',
  ),
};

/** Constraints that a decision always prevents first; hitting one is reported as INTERNAL. Primary and foreign keys belong here too. */
export const BUG_IF_HIT: readonly string[] = [
  'account_email_lower',
  'animal_birth_order',
  'animal_count_range',
  'animal_fact_day_order',
  'animal_mark_day_order',
  'animal_not_merged_into_itself',
  'animal_register_number_form',
  'animal_register_number_key',
  'animal_access_day_order',
  'animal_access_one_in_force',
  'append_only',
  'ask_message_length',
  'ask_thread_closed_told',
  'ask_thread_two_keepers',
  'club_member_day_order',
  'clutch_day_order',
  'clutch_egg_count',
  'custody_day_order',
  'custody_holder_named',
  'custody_leaving_told',
  'document_cover_one_subject',
  'document_cover_quantity',
  'document_file_size',
  'hatching_day_order',
  'holding_document_day_order',
  'line_taxon_id_name_key',
  'lineage_population_taxon_id_key',
  'lot_change_direction',
  'lot_change_one_opening',
  'mail_message_dedupe_key_key',
  'mating_day_order',
  'mating_two_animals',
  'notice_dedupe_key_key',
  'office_day_order',
  'outbox_message_dedupe_key_key',
  'ownership_day_order',
  'ownership_has_owner',
  'ownership_share_keeper_once',
  'ownership_share_one_owner',
  'ownership_share_outside_once',
  'ownership_share_parts',
  'parent_candidate_probability',
  'parentage_claim_day_order',
  'parentage_claim_without_sire_role',
  'placement_day_order',
  'quarantine_entry_day_order',
  'quarantine_group_days',
  'quarantine_group_release_told',
  'quarantine_group_transfer_id_key',
  'record_merge_two_records',
  'record_merge_undone_told',
  'record_paper_check_code_key',
  'taxon_scientific_name_key',
  'transfer_arrival_count',
  'transfer_claim_code_hash_key',
  'transfer_closed_told',
  'transfer_item_count',
  'transfer_item_transfer_id_animal_id_key',
  'transfer_not_to_self',
  'transfer_one_receiver',
  'transfer_price_whole',
];
