import { recordedNear } from './days-in-words.core.js';
import { generationOf } from './generation.core.js';
import { findMating } from './mating.core.js';
import type {
  Generation,
  Item,
  MatingFinding,
  OriginClaim,
  OriginRecord,
  Rule,
  TaxonBounds,
  Weighed,
} from './origin-record.core.js';
import {
  acquisitionRule,
  clutchSizeRule,
  hatchingRule,
  identityRule,
  incubationRule,
  maturityRule,
} from './rules-birth.core.js';
import { matingRule } from './rules-mating.core.js';
import {
  bearingEntries,
  chainOf,
  chainRule,
  generationRule,
  independentEntries,
  lawfulStockRule,
  recordingRule,
  witnessRule,
} from './rules-stock.core.js';
import type { SourceFacts } from './source-code.core.js';

export type Verdict = 'documented' | 'consistent' | 'stated_only' | 'contradicted';

/** What the records say of a claim of origin. */
export type OriginFinding = {
  readonly claim: OriginClaim;
  readonly verdict: Verdict;
  readonly items: readonly Item[];
  /** What would help, in words. */
  readonly missing: readonly string[];
  /** Some conflict may be a slip: the keeper is asked before anybody relies on it. */
  readonly askFirst: boolean;
  readonly generation: Generation;
  /** How the animal began, as far as shown: what the permit source code follows from. */
  readonly source: Pick<SourceFacts, 'begun' | 'ranched' | 'seized' | 'generation' | 'lawfulStock'>;
};

const RULES: readonly Rule[] = [
  acquisitionRule,
  matingRule,
  hatchingRule,
  incubationRule,
  clutchSizeRule,
  maturityRule,
  generationRule,
  lawfulStockRule,
  identityRule,
  chainRule,
  recordingRule,
];

/**
 * Weighs the records of an animal for the claim as made. Nothing recorded is `stated_only` and never doubted; `documented`
 * needs an unbroken chain recorded near the time and at least one item not made by a holder or somebody connected. The day of
 * the question plays no part: the same records always give the same finding.
 */
export function originFinding(record: OriginRecord, bounds: TaxonBounds): OriginFinding {
  const mating = findMating(record, bounds);
  const own = RULES.flatMap((rule) => rule(record, bounds, mating));
  const weighed = [...own, ...witnessRule(record, bounds, mating)];
  const items = weighed.map(toItem);
  const generation = generationOf(record, mating);
  const verdict = verdictOf(record, own, mating);
  return {
    claim: record.claim?.origin ?? 'unknown',
    verdict,
    items,
    missing: verdict === 'documented' ? [] : [...new Set(weighed.flatMap((item) => item.missing ?? []))],
    askFirst: items.some((item) => item.askFirst && (item.weighs === 'contradicts' || item.weighs === 'doubts')),
    generation,
    source: {
      begun: begunOf(record, mating),
      ranched: record.claim?.origin === 'ranched' ? 'yes' : record.hatching === null ? 'no' : 'unknown',
      seized: record.acquisition?.manner === 'confiscated',
      generation,
      lawfulStock: items.some((item) => item.part === 'lawful_stock' && item.weighs === 'supports') ? 'yes' : 'unknown',
    },
  };
}

function toItem({ part, weighs, words, factIds, source, askFirst }: Weighed): Item {
  return { part, weighs, words, factIds, source, askFirst };
}

function verdictOf(record: OriginRecord, items: readonly Item[], mating: MatingFinding): Verdict {
  if (items.some((item) => item.weighs === 'contradicts')) return 'contradicted';
  const claim = record.claim?.origin ?? 'unknown';
  // A witness bears something out; without it being on record there is nothing to bear out.
  const carries = items.some((item) => item.part === 'captive_birth' && item.weighs === 'supports');
  if (claim === 'unknown' || !carries) return 'stated_only';
  return isDocumented(record, items, mating) ? 'documented' : 'consistent';
}

function isDocumented(record: OriginRecord, items: readonly Item[], mating: MatingFinding): boolean {
  if (items.some((item) => item.weighs === 'doubts')) return false;
  const bearing = bearingEntries(record);
  const near =
    bearing.length > 0 &&
    bearing.every((entry) => recordedNear(entry.recordedOn, entry.when)) &&
    record.held.every((period) => recordedNear(period.recordedOn, { earliest: period.from, latest: period.from }));
  const begins =
    record.claim?.origin === 'wild'
      ? record.acquisition?.manner === 'wild_taken'
      : record.laying !== null &&
        record.hatching !== null &&
        mating.controlled === 'yes' &&
        (mating.kind === 'captive' || mating.kind === 'confirmed');
  return near && begins && chainOf(record).unbroken && independentEntries(record).length > 0;
}

function begunOf(record: OriginRecord, mating: MatingFinding): SourceFacts['begun'] {
  if (record.acquisition?.manner === 'wild_taken') return 'taken_from_the_wild';
  if (mating.controlled === 'no') return 'mated_outside';
  if (mating.controlled === 'yes') return 'mated_in_controlled_environment';
  return 'not_shown';
}
