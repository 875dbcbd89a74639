/** A living animal that carries a chip number. */
export type Carrier = { readonly animalId: string; readonly value: string };

/** A conflict: two animals, in id order, with one number. */
export type ConflictPair = { readonly value: string; readonly animalAId: string; readonly animalBId: string };

/** What has to change so that the conflicts in force are those there are. */
export type ConflictChanges<T extends ConflictPair> = {
  readonly opened: readonly ConflictPair[];
  readonly resolved: readonly T[];
};

const keyOf = (pair: ConflictPair): string => `${pair.value} ${pair.animalAId} ${pair.animalBId}`;

/** Holds the conflicts in force over some numbers against the living animals that carry them now. */
export function reviewConflicts<T extends ConflictPair>(
  carriers: readonly Carrier[],
  inForce: readonly T[],
): ConflictChanges<T> {
  const byValue = new Map<string, Set<string>>();
  for (const { value, animalId } of carriers) byValue.set(value, (byValue.get(value) ?? new Set()).add(animalId));
  const pairs = [...byValue].flatMap(([value, ids]) => pairsOf(value, [...ids].sort()));
  const known = new Set(inForce.map(keyOf));
  const there = new Set(pairs.map(keyOf));
  return {
    opened: pairs.filter((pair) => !known.has(keyOf(pair))),
    resolved: inForce.filter((pair) => !there.has(keyOf(pair))),
  };
}

/** Every two of some animals, the lower id first. */
function pairsOf(value: string, ids: readonly string[]): ConflictPair[] {
  return ids.flatMap((animalAId, i) => ids.slice(i + 1).map((animalBId) => ({ value, animalAId, animalBId })));
}

/**
 * Numbers of other keepers' animals that one account may come upon in a day by recording chips, before it records no chip for a
 * while: enough for a batch whose former keeper forgot them, too few to go through numbers. A convention of this registry.
 */
export const CHIPS_COME_UPON = 20;
export const CHIP_WINDOW_SECONDS = 86_400;

/** Seconds until the account may record chips again, by when it came upon such numbers; null = it may now. */
export function chipWait(cameUpon: readonly Date[], now: Date): number | null {
  const within = cameUpon
    .map((at) => CHIP_WINDOW_SECONDS - (now.getTime() - at.getTime()) / 1000)
    .filter((left) => left > 0)
    .toSorted((a, b) => b - a);
  const last = within[CHIPS_COME_UPON - 1];
  return last === undefined ? null : Math.ceil(last);
}
