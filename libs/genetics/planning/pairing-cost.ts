/** What a pairing is judged by. */
export interface PairingCostInput {
  /** Kinship of each male with each female, males × females, row-major (see kinshipBlock). */
  readonly kinship: Float64Array;
  readonly meanKinshipMales: Float64Array;
  readonly meanKinshipFemales: Float64Array;
  /** Pairs whose young would have an inbreeding coefficient F above this are not allowed; absent: no limit. */
  readonly maxKinship?: number;
  /** What each part weighs; finite, 0 = not counted. */
  readonly weights: { readonly meanKinship: number; readonly kinship: number; readonly difference: number };
}

/**
 * Costs for optimalPairing, males as rows, females as columns:
 *
 *     meanKinship · (mk♂ + mk♀)/2 + kinship · f♂♀ + difference · |mk♂ - mk♀|
 *
 * and Infinity where f♂♀ (which is F of the young) is above `maxKinship`. Low mean kinship first is the rule of Ballou &
 * Lacy 1995, and kept most diversity in Montgomery et al. 1997; the difference stands for not tying a rare line to a
 * common one. The sum and its weights are a convention of this registry, not a published index. Where everybody is
 * paired the first part is the same for every pairing: it decides only who is left over.
 *
 * @throws RangeError for a wrong length, a number that is not finite, or a limit that is NaN
 */
export function pairingCost(input: PairingCostInput): Float64Array {
  const { kinship, meanKinshipMales, meanKinshipFemales, maxKinship = Infinity, weights } = input;
  const males = meanKinshipMales.length;
  const females = meanKinshipFemales.length;
  if (kinship.length !== males * females) {
    throw new RangeError(`kinship has ${kinship.length} numbers, but males × females is ${males * females}`);
  }
  refuseNotFinite('kinship', kinship);
  refuseNotFinite('meanKinshipMales', meanKinshipMales);
  refuseNotFinite('meanKinshipFemales', meanKinshipFemales);
  refuseNotFinite('weights', Float64Array.of(weights.meanKinship, weights.kinship, weights.difference));
  if (Number.isNaN(maxKinship)) throw new RangeError('maxKinship is NaN: a number is needed');
  return kinship.map((f, pair) => {
    if (f > maxKinship) return Infinity;
    const male = meanKinshipMales[Math.floor(pair / females)] as number;
    const female = meanKinshipFemales[pair % females] as number;
    return (
      (weights.meanKinship * (male + female)) / 2 + weights.kinship * f + weights.difference * Math.abs(male - female)
    );
  });
}

function refuseNotFinite(name: string, values: Float64Array): void {
  const bad = values.findIndex((value) => !Number.isFinite(value));
  if (bad >= 0) throw new RangeError(`${name} ${bad} is ${values[bad]}: a finite number is needed`);
}
