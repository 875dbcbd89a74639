import { type Breeder, type BreederReason, keyOf } from './breeders.core.js';

/** What the viewer is to a clutch, or to young of it: the keeper of the clutch, the one it hatched with, one it is shared with. */
export type ClutchStanding = 'keeper' | 'hatched_with' | 'shared' | 'none';

/** A breeder as it is told: `keyOf` its party where that is named, null = not named or not known. */
export type ToldBreeder = {
  readonly named: Breeder['party'];
  readonly sure: Breeder['sure'];
  readonly why: readonly BreederReason[];
};

/** What the other reasons tell of the dam's owners is for the keeper of the clutch, and for the owner it is about. */
export const TOLD_TO_ALL = ['owner_at_mating', 'owner_at_laying', 'several_dams', 'more_than_named'] as const;

/** The reasons of a breeder that are told to whoever is told of it at all. */
export function reasonsForAll(why: readonly BreederReason[]): (typeof TOLD_TO_ALL)[number][] {
  return TOLD_TO_ALL.filter((reason) => why.includes(reason));
}

/** A dam that changed hands; `taken`: the receiver took her record up with a code, and told the giver no keeper. */
export type Dealing = { readonly giverId: string; readonly receiverId: string; readonly taken: boolean };

/** With whom a keeper dealt, and itself. */
export function dealtWith(keeperId: string, dealings: readonly Dealing[]): Set<string> {
  const others = dealings.flatMap(({ giverId, receiverId, taken }) => {
    if (receiverId === keeperId) return giverId;
    return giverId === keeperId && !taken ? receiverId : [];
  });
  return new Set([keeperId, ...others]);
}

/**
 * Who is told what of the breeders of a clutch; null = nothing. The keeper of the clutch reads all of it, the one it hatched with
 * the names, one it is shared with the name of the clutch's keeper. A breeder reads of itself; without another standing it learns
 * that there are others, and not who. No keeper is named with whom the clutch's keeper did not deal over a dam: days made up for a
 * clutch or a mating would tell whose she was before.
 */
export function tellBreeders(
  breeders: readonly Breeder[],
  to: {
    readonly standing: ClutchStanding;
    readonly mine: readonly string[];
    readonly clutchKeeperId: string;
    /** Of every possible dam, in each of her records. */
    readonly dealings: readonly Dealing[];
  },
): ToldBreeder[] | null {
  const isMine = ({ party }: Breeder): boolean => to.mine.includes(keyOf(party));
  if (to.standing === 'none' && !breeders.some(isMine)) return null;
  const dealt = dealtWith(to.clutchKeeperId, to.dealings);
  return breeders.map((breeder) => {
    const { party, sure, why } = breeder;
    const whole = to.standing === 'keeper' || isMine(breeder);
    const readsNames = to.standing === 'keeper' || to.standing === 'hatched_with';
    const named =
      isMine(breeder) ||
      (readsNames && (party?.kind === 'outside_party' || dealt.has(keyOf(party)))) ||
      (to.standing === 'shared' && keyOf(party) === to.clutchKeeperId);
    return { named: named ? party : null, sure, why: whole ? why : reasonsForAll(why) };
  });
}
