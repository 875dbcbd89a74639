import { clear, type Columns, CORRECTION, goes, keep, replace } from './column.core.js';

const animal = keep('animal');
const code = keep('code');
const common = keep('common');

/** Taxa, animals, their lineage, and what is recorded around them. */
export const ANIMAL_COLUMNS: Columns = {
  taxon: {
    class_name: common,
    common_name: common,
    dangerous_source: common,
    name_source: common,
    order_name: common,
    profile: common,
    quarantine_source: common,
    scientific_name: common,
  },
  line: { name: common },
  animal: { birth_edtf: animal, fate_edtf: animal, name: animal, register_number: code },
  animal_fact: {
    body: replace('keeper', 'without_people', 'animals[].facts[].body'),
    edtf: animal,
    kind: code,
    reason: clear('corrected', 'animals[].facts[].reason'),
  },
  animal_mark: {
    edtf: animal,
    end_cause: code,
    fixed_view: animal,
    kind: code,
    match_value: code,
    reason: clear('corrected', CORRECTION),
    size: animal,
    until_edtf: animal,
    value: animal,
  },
  mark_conflict: { resolved_because: code, value: code },
  photo_session: { reason: clear('keeper', CORRECTION) },
  animal_file: {
    caption: goes('keeper', 'animals[].files[].caption'),
    claimed_taken_at: goes('keeper', 'animals[].files[].claimedTakenAt'),
    edtf: goes('keeper', 'animals[].files[].when'),
    file_name: goes('keeper', 'animals[].files[].fileName'),
    original_sha256: goes('keeper', 'animals[].files[].sha256'),
    original_type: goes('keeper', 'animals[].files[].mediaType'),
    reason: goes('keeper', 'animals[].files[].withdrawnBecause'),
    shared_sha256: goes('keeper', { not: 'a copy made of the file' }),
    thumb_sha256: goes('keeper', { not: 'a copy made of the file' }),
  },
  lot_change: {
    reason: clear('written', 'animals[].countChanges[].reason'),
    superseded_because: clear('corrected', CORRECTION),
  },
  parentage_claim: {
    edtf: animal,
    evidence: clear('written', 'animals[].parentage[].evidence'),
    reason: clear('corrected', CORRECTION),
  },
  record_merge: {
    because: replace('written', 'removed', 'animals[].merges[].because'),
    reason: replace('written', 'removed', 'animals[].merges[].undoneBecause'),
  },
  origin_check: { finding: animal, hash: code },
  enclosure: {
    name: replace('keeper', 'unnamed', 'enclosures[].name'),
    room: clear('keeper', 'enclosures[].room'),
  },
  placement: { reason: clear('below', CORRECTION) },
  mating: { edtf: animal, reason: clear('keeper', CORRECTION) },
  clutch: { edtf: animal, reason: clear('keeper', CORRECTION) },
  egg_event: {
    edtf: animal,
    incubator: clear('below', 'clutches[].eggEvents[].incubator'),
    reason: clear('below', CORRECTION),
  },
  hatching: { edtf: animal, reason: clear('below', CORRECTION) },
  pairing: { note: clear('keeper', 'pairings[].note') },
  breeding_availability: { offers: goes('keeper', 'breedingAvailability[].offers') },
  quarantine_group: {
    days_source: common,
    name: replace('keeper', 'unnamed', 'quarantines[].name'),
    release_reason: replace('keeper', 'removed', 'quarantines[].releaseReason'),
  },
  holding_document: {
    authority: goes('unneeded', 'documents[].authority'),
    jurisdiction: goes('unneeded', 'documents[].jurisdiction'),
    number: goes('unneeded', 'documents[].number'),
    reason: clear('needed', CORRECTION),
  },
  document_file: {
    file_name: replace('needed', 'unnamed', 'documents[].files[].fileName'),
    media_type: goes('unneeded', 'documents[].files[].mediaType'),
    sha256: goes('unneeded', 'documents[].files[].sha256'),
  },
};
