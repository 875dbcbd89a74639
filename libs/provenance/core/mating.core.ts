import { and, type Answer, isBefore, isOnOrBefore, isWithin, not, or } from '../../kernel/index.js';
import { shift } from './days-in-words.core.js';
import type {
  Dated,
  KnownAnswer,
  Laying,
  Mating,
  MatingFinding,
  OriginRecord,
  ParentRecord,
  Stay,
  TaxonBounds,
} from './origin-record.core.js';

/**
 * Whether something happened in a controlled environment: as stated, or else as the enclosure the animal was in on those
 * days is recorded. The enclosure itself is never named.
 */
export function controlledThen(stated: KnownAnswer, when: Dated['when'], stays: readonly Stay[]): KnownAnswer {
  if (stated !== 'unknown') return stated;
  return stays.find((stay) => isWithin(when, stay) === 'yes')?.controlled ?? 'unknown';
}

/** Was the parent taken from the wild: by its acquisition, or where none is recorded by its own claim? */
export function isWildTaken(parent: ParentRecord): boolean {
  return parent.acquisition === null ? parent.claim?.origin === 'wild' : parent.acquisition.manner === 'wild_taken';
}

/**
 * Weighs the mating behind a laying. A dam from the wild contradicts a mating in captivity only where she laid before any
 * captive mating could have produced the eggs: laid.latest < earliest captive mating + the taxon's shortest interval from
 * mating to laying. Confirmed paternity outweighs that interval. Without the bound it is not judged.
 * Source: CITES Notification 1998/14 paragraph 3 (a mating outside makes the young W or R); the interval rule is our own.
 */
export function findMating(record: OriginRecord, bounds: TaxonBounds): MatingFinding {
  const { dam, laying } = record;
  if (dam === null) return { kind: 'not_recorded', controlled: 'possible', used: [], slipPossible: true };
  const matings = dam.matings.map((mating) => ({
    ...mating,
    controlled: controlledThen(mating.controlled, mating.when, dam.stays),
  }));
  const laid = laying?.when ?? { earliest: null, latest: null };
  const fitting = matings.filter((mating) => couldHaveProduced(mating, laid, bounds) !== 'no');
  const inside = fitting.filter((mating) => mating.controlled !== 'no');
  if (fitting.length > 0 && inside.length === 0)
    return { kind: 'outside', controlled: 'no', used: fitting, slipPossible: true };
  // A test of the young says more than any interval, so here a mating counts that lies before the laying at all.
  const earlier = matings.filter((mating) => mating.controlled !== 'no' && isOnOrBefore(mating.when, laid) !== 'no');
  if (record.sireStatement?.basis === 'genetic_test' || earlier.some((mating) => mating.basis === 'genetic_test'))
    return { kind: 'confirmed', controlled: shownBy(earlier), used: earlier, slipPossible: false };
  const controlled = shownBy(inside);
  if (isWildTaken(dam)) {
    const early = laidTooEarly(dam, matings, laying, bounds);
    if (early !== null) return early;
  }
  if (inside.length === 0) return { kind: 'not_recorded', controlled: 'possible', used: [], slipPossible: true };
  if (controlled !== 'yes') return { kind: 'place_unknown', controlled, used: inside, slipPossible: true };
  const open = isWildTaken(dam) && windowClosed(dam, laid, bounds) !== 'yes';
  return { kind: open ? 'captive_window_open' : 'captive', controlled, used: inside, slipPossible: true };
}

function shownBy(matings: readonly Mating[]): 'yes' | 'possible' {
  return matings.some((mating) => mating.controlled === 'yes') ? 'yes' : 'possible';
}

/** Could eggs laid then come from this mating? Judged by the bounds that are known; a bound that is missing rules nothing out. */
function couldHaveProduced(mating: Mating, laid: Dated['when'], bounds: TaxonBounds): Answer {
  const longEnough = isOnOrBefore(shift(mating.when, bounds.matingToLayingMinDays?.value ?? 0), laid);
  const stored = bounds.spermStorageMaxDays;
  if (stored === undefined) return longEnough;
  return and(longEnough, not(isBefore(shift(mating.when, stored.value), laid)));
}

/** Is sperm from before the capture ruled out? Only a known longest time of storage can rule it out. */
function windowClosed(dam: ParentRecord, laid: Dated['when'], bounds: TaxonBounds): Answer {
  const stored = bounds.spermStorageMaxDays;
  if (stored === undefined || dam.acquisition === null) return 'possible';
  return isBefore(shift(dam.acquisition.when, stored.value), laid);
}

/** For a dam from the wild: laid before she came, or sooner after any captive mating than the taxon can. Null = neither. */
function laidTooEarly(
  dam: ParentRecord,
  matings: readonly Mating[],
  laying: Laying | null,
  bounds: TaxonBounds,
): MatingFinding | null {
  const { acquisition } = dam;
  if (acquisition === null || laying === null) return null;
  const used: Dated[] = [acquisition, laying];
  if (isBefore(laying.when, acquisition.when) === 'yes')
    return { kind: 'before_capture', controlled: 'no', used, slipPossible: false };
  const shortest = bounds.matingToLayingMinDays;
  if (shortest === undefined) return null;
  const tooEarlyAfter = (mated: Dated): Answer => isBefore(laying.when, shift(mated.when, shortest.value));
  const unrecorded = tooEarlyAfter(acquisition);
  const captive = matings.filter((mating) => mating.controlled !== 'no');
  // No captive mating can lie before the capture; where some are recorded the earliest of them counts.
  const tooEarly = captive.length === 0 ? unrecorded : not(or(...captive.map((mating) => not(tooEarlyAfter(mating)))));
  used.push(...captive);
  if (unrecorded === 'yes' || tooEarly === 'yes')
    return { kind: 'too_early', controlled: 'no', used, slipPossible: unrecorded !== 'yes' };
  if (tooEarly === 'possible' && unrecorded === 'possible')
    return { kind: 'perhaps_too_early', controlled: 'possible', used, slipPossible: true };
  return null;
}
