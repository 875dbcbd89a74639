import { type Cell, type Excluded, pairwise } from './pairwise.js';

/** What can be the case of one account and one animal. */
export const DIMENSIONS = {
  /** What the account is for its keeper; `left` acted for it once. */
  role: ['owner', 'helper', 'guardian', 'minor', 'left'],
  /** What the keeper is, or was, to the animal. */
  tie: [
    'none',
    'keeper',
    'borrower',
    'lender',
    'co_owner',
    'past',
    'past_borrower',
    'receiver',
    'guest',
    'guest_ended',
    'guest_lapsed',
    'asker',
    'asker_unrevealed',
  ],
  /** Whether the keeper is in the club of whoever has the animal. */
  club: ['mates', 'left', 'apart'],
  /** Which office of that club the account has. */
  office: ['none', 'registrar', 'region_in', 'region_out', 'taxon_in', 'taxon_out', 'over'],
  /** How it is with the animal; a transfer goes to the receiver, or to somebody else where there is none. */
  state: [
    'living',
    'dead',
    'missing',
    'left_registry',
    'outside',
    'disputed',
    'quarantine',
    'merged',
    'lot',
    'offered',
    'accepted',
    'sent',
    'declined',
    'withdrawn',
    'cancelled',
  ],
  /** What whoever has the animal shows: for everything, for the collection it is in, for the animal. */
  everything: ['nobody', 'other_party', 'coordinator', 'club'],
  everythingLineage: ['shared', 'withheld'],
  collection: ['none', 'unset', 'nobody', 'other_party', 'coordinator', 'club'],
  collectionLineage: ['shared', 'withheld'],
  animal: ['unset', 'nobody', 'other_party', 'coordinator', 'club'],
  animalLineage: ['shared', 'withheld'],
} as const;

type D = typeof DIMENSIONS;
export type SharingCell = Cell<D>;

export const OFFERS: readonly string[] = ['offered', 'accepted', 'sent', 'declined', 'withdrawn', 'cancelled'];
export const OPEN_OFFERS: readonly string[] = ['offered', 'accepted', 'sent'];

/** What cannot be, by the rules of the registry. */
export const cannotBe: Excluded<D> = ({ role, tie, club, state, everythingLineage, collection, collectionLineage }) => {
  // A receiver has an offer, or had one.
  if (tie === 'receiver' && state !== undefined && !OFFERS.includes(state)) return true;
  // What is borrowed goes back and nowhere else; the book of a lot goes by numbers, and half of one is no number.
  if ((tie === 'borrower' || tie === 'lender') && (state === 'outside' || state === 'merged')) return true;
  if (tie === 'co_owner' && (state === 'merged' || state === 'lot' || state === 'outside')) return true;
  // Who asks the holder is a club-mate to whom the lineage is shown, and no lot is asked for.
  if (tie === 'asker' || tie === 'asker_unrevealed')
    if (
      (club !== undefined && club !== 'mates') ||
      role === 'left' ||
      everythingLineage === 'withheld' ||
      state === 'lot'
    )
      return true;
  // Without a collection there is nothing to withhold for one.
  if (collection === 'none' && collectionLineage === 'withheld') return true;
  // Who has left a keeper is in none of its clubs.
  return role === 'left' && club !== undefined && club !== 'apart';
};

/** The same cells each time for one seed. */
export function sharingCells(random: () => number): SharingCell[] {
  return pairwise(DIMENSIONS, cannotBe, random);
}
