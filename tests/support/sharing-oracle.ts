import { OFFERS, OPEN_OFFERS, type SharingCell } from './sharing-cells.js';

/** What one account is shown of one animal. Lists are in alphabetical or numerical order. */
export type Shown = {
  readonly level: string;
  /** Register number, taxon, and the claim on its dam. */
  readonly identity: boolean;
  readonly lineage: number;
  /** Name, count, exact birth, and every version of its marks. */
  readonly record: boolean;
  readonly marks: number | null;
  readonly weights: readonly number[] | null;
  readonly notes: readonly string[] | null;
  readonly holder: boolean;
  readonly quarantine: boolean;
  readonly documents: number | null;
  /** Histories of facts and parents, who reads it as a guest, what is shown of it, which collection it is in. */
  readonly workings: boolean;
  readonly collection: boolean;
  /** The own share and how many others own one, for those who have or own it. */
  readonly ownership: string | null;
  readonly files: number;
};

/** What each address answers, and the query for a clutch as if it had one. */
export type Fetched = {
  readonly picture: number;
  readonly original: number;
  readonly documentFile: number;
  readonly pack: number;
  /** The clutch it laid, where it is no lot. */
  readonly clutch: number;
};

const NOTHING: Shown = {
  level: 'none',
  identity: false,
  lineage: 0,
  record: false,
  marks: null,
  weights: null,
  notes: null,
  holder: false,
  quarantine: false,
  documents: null,
  workings: false,
  collection: false,
  ownership: null,
  files: 0,
};

/*
 * A second account of the rules of reading, after DESIGN and docs/api/sharing.md, for animals as `SharingWorld` makes them.
 * It knows nothing of the program. What it relies on of that world: whoever registered an animal wrote 'first' (11 g, with a
 * mark, a picture and a paper) and 'own' in private; whoever has it at last wrote 'second' (22 g) and 'own again' in private.
 */

/** Who acts for a keeper no longer is nothing to its animals. */
const tieOf = ({ role, tie }: SharingCell): SharingCell['tie'] => (role === 'left' ? 'none' : tie);

/** Keepers who registered the animal themselves. */
const REGISTERED: readonly string[] = ['keeper', 'lender', 'co_owner', 'past'];

/** Lineage is shown in a club unless any level withholds it. */
function isClubs({ role, club, state, ...set }: SharingCell): boolean {
  const withheld = [set.everythingLineage, set.collectionLineage, set.animalLineage].includes('withheld');
  return role !== 'left' && club === 'mates' && state !== 'outside' && !withheld;
}

function levelOf(cell: SharingCell): string {
  const { state } = cell;
  const otherwise = isClubs(cell) ? 'club' : 'none';
  switch (tieOf(cell)) {
    case 'keeper':
      return state === 'outside' ? 'past' : 'full';
    case 'borrower':
    case 'lender':
    case 'co_owner':
      return 'full';
    case 'past':
    case 'past_borrower':
      return 'past';
    case 'receiver':
      return OPEN_OFFERS.includes(state) ? 'offered' : otherwise;
    case 'guest':
      // It ends when the animal leaves the keeper who granted it.
      return state === 'outside' ? otherwise : 'guest';
    default:
      return otherwise;
  }
}

/** The nearest level that names an audience counts. */
export function audienceOf({ animal, collection, everything }: SharingCell): string {
  if (animal !== 'unset') return animal;
  return collection === 'none' || collection === 'unset' ? everything : collection;
}

function holderShown(cell: SharingCell, level: string): boolean {
  const { club, state } = cell;
  if (state === 'dead' || state === 'merged' || level === 'past' || level === 'none') return false;
  if (level === 'full') return true;
  // Nobody known has it.
  if (state === 'missing' || state === 'left_registry') return false;
  const audience = audienceOf(cell);
  const otherParty = level === 'offered' || tieOf(cell) === 'asker';
  return (audience === 'club' && club === 'mates') || (audience !== 'nobody' && otherParty);
}

/** Half of it is the holder's where there is a co-owner; a dispute changes no share, nor do death, loss and a merge. */
function ownershipOf(cell: SharingCell): string {
  const shares: Partial<Record<SharingCell['tie'], string>> = {
    keeper: 'all of it',
    lender: 'all of it',
    borrower: 'none of it, 1 other',
    co_owner: '1 of 2, 1 other',
  };
  return `${shares[tieOf(cell)]}${cell.state === 'disputed' ? ', disputed' : ''}`;
}

/** Private notes are read by the keeper who wrote them alone. */
function notesOf(cell: SharingCell, level: string): string[] {
  const tie = tieOf(cell);
  const later = level !== 'past' || tie === 'keeper';
  const has = tie === 'keeper' || tie === 'borrower';
  return [
    'first',
    ...(later ? ['second'] : []),
    ...(REGISTERED.includes(tie) ? ['own'] : []),
    ...(has ? ['own again'] : []),
  ].toSorted();
}

export function oracle(cell: SharingCell): Shown {
  const level = levelOf(cell);
  const holder = holderShown(cell, level);
  const club = { ...NOTHING, level, identity: true, lineage: 1, holder };
  if (level === 'none') return NOTHING;
  if (level === 'club') return club;
  const later = level !== 'past' || tieOf(cell) === 'keeper';
  const record: Shown = {
    ...club,
    record: true,
    marks: cell.state === 'lot' ? 0 : 1,
    weights: later ? [11, 22] : [11],
    notes: notesOf(cell, level),
    files: 1,
  };
  const reads = level === 'full' || level === 'guest';
  const health = { ...record, quarantine: reads && cell.state === 'quarantine' };
  if (level !== 'full') return health;
  const collects = ['keeper', 'borrower'].includes(tieOf(cell)) && cell.collection !== 'none';
  return { ...health, documents: 1, workings: true, collection: collects, ownership: ownershipOf(cell) };
}

export function fetched(cell: SharingCell): Fetched {
  const { level, record } = oracle(cell);
  const sent = REGISTERED.includes(tieOf(cell));
  const status = (shown: boolean): number => (shown ? 200 : 404);
  return {
    picture: status(record),
    original: status(sent),
    documentFile: status(sent || level === 'full'),
    pack: status(['full', 'offered', 'past'].includes(level)),
    // Whoever recorded it, and wherever the record of its dam is shown as it is today.
    clutch: status(cell.state !== 'lot' && (sent || (record && level !== 'past'))),
  };
}

/** What is shown of the transfer: nothing, all but the price, or all; a loan and its return have none. */
export function transferShown(cell: SharingCell): 'no transfer' | 'hidden' | 'without price' | 'with price' {
  if (!OFFERS.includes(cell.state)) return 'no transfer';
  const tie = tieOf(cell);
  if (!['keeper', 'borrower', 'lender', 'receiver'].includes(tie)) return 'hidden';
  const priced = tie === 'keeper' || tie === 'receiver';
  return priced && cell.role !== 'helper' ? 'with price' : 'without price';
}
