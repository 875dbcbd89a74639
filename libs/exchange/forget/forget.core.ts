import { type Blocker, type Decision, decide, refuse } from '../../kernel/index.js';

/** The name of a keeper whose last owner was forgotten, as others read it. */
export const FORGOTTEN_KEEPER = 'Forgotten keeper';
/** What stands where a text was that cannot be empty. */
export const REMOVED = 'Removed: whoever wrote this asked to be forgotten.';
/** The beginning of what stands where the address was; no mail address begins like this. */
export const FORGOTTEN_ADDRESS = 'forgotten:';

/** What has to be settled before a person can be forgotten: ids. */
export type Unsettled = {
  /** Animals that a keeper has which would lose its last owner. */
  readonly animals: readonly string[];
  /** Clutches of which such a keeper has eggs that may still live. */
  readonly clutches: readonly string[];
  /** Animals of which such a keeper owns a share while another keeper has them. */
  readonly owned: readonly string[];
  /** Transfers of such a keeper that are under way, or whose property waits for payment. */
  readonly transfers: readonly string[];
  /** Breeding loans given or taken by such a keeper of which something is still to be given back, lost or not. */
  readonly loans: readonly string[];
  /** Clutches of its loans of which young wait to be picked. */
  readonly picks: readonly string[];
  /** Open claims of ownership such a keeper makes or answers. */
  readonly claims: readonly string[];
  /** Keepers of minors whose last guardian this is. */
  readonly wards: readonly string[];
  /** Clubs with other members whose last registrar this is. */
  readonly clubs: readonly string[];
};

/** May this person be forgotten now? Animals need somebody who answers for them, hand-overs their two sides, minors a guardian, clubs a registrar. */
export function decideForget(unsettled: Unsettled): Decision<null> {
  const { animals, clutches, owned, transfers, loans, picks, claims, wards, clubs } = unsettled;
  const blockers: Blocker[] = [
    ...animals.map((id) => ({
      kind: 'animal',
      id,
      remedy: 'Transfer it, or record what became of it: that it died, or that it left the registry.',
    })),
    ...clutches.map((id) => ({
      kind: 'clutch',
      id,
      remedy: 'You have eggs of it: hand them over, or record what became of them, also that nobody knows.',
    })),
    ...owned.map((id) => ({
      kind: 'animal',
      id,
      remedy: 'You own it, or a share of it, while somebody else has it: have it returned, or hand your share over.',
    })),
    ...transfers.map((id) => ({
      kind: 'transfer',
      id,
      remedy: 'Complete the transfer, with its payments where property waits for them, or call it off.',
    })),
    ...loans.map((id) => ({
      kind: 'transfer',
      id,
      remedy: 'Something of this loan is still owed: let it go home, record that it died, or agree whose it is.',
    })),
    ...picks.map((id) => ({
      kind: 'clutch',
      id,
      remedy: 'Young of a loan wait to be picked: pick, or let the other side pick.',
    })),
    ...claims.map((id) => ({ kind: 'claim', id, remedy: 'Settle the claim of ownership, or take it back.' })),
    ...wards.map((id) => ({ kind: 'keeper', id, remedy: 'Let another guardian of this keeper accept first.' })),
    ...clubs.map((id) => ({ kind: 'club', id, remedy: 'Appoint another registrar of the club.' })),
  ];
  if (blockers.length === 0) return decide(null);
  return refuse('FORGET_UNSETTLED', 'Others depend on something of yours. Settle what is named here first.', {
    blockers,
  });
}
