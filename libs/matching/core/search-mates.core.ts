import { type Answer } from '../../kernel/index.js';
import { type CandidateTable, dayNumber, HOLDINGS, NO_DAY, SEXES } from './candidate-table.core.js';
import { DISTANCE_BANDS, type DistanceBand, distanceBand, FEWEST_HOLDERS } from './distance.core.js';
import { type MateFilters } from './mate-filters.core.js';
import { type MateWeights, RANK_PARTS } from './mate-weights.core.js';
import { type MateFigures, compareMates, scoreOf } from './rank-mates.core.js';

/** What a viewer is shown of one keeper. */
export type KeeperView = {
  /** A keeper the viewer acts for: whose animals are known to the viewer in full. */
  readonly own: boolean;
  /** Own, or sharing lineage in one of the viewer's clubs: whose animals the viewer sees, but for those it withholds. */
  readonly sees: boolean;
  /** A member of one of the viewer's clubs. */
  readonly inClub: boolean;
  /** Whether the keeper shows the viewer what they hold, where nothing else is set for an animal. */
  readonly shown: boolean;
  readonly region: string | null;
};

/** The numbers of a pedigree that a search needs, by index of the animal. */
export type MateNumbers = {
  /** Index of an animal; undefined where it is not in the pedigree yet. */
  indexOf(id: string): number | undefined;
  /** Stands for the numbering of the animals: while it is the same object, indices known from before hold. */
  readonly numbering: object;
  readonly kinship: Float64Array;
  readonly meanKinship: Float64Array;
  readonly knownAncestry: Float64Array;
  readonly ownKnownAncestry: number;
  parentless(index: number): boolean;
  geneDiversityChange(index: number): number;
  readonly populationSize: number;
};

/** A search for mates of one animal by one viewer. */
export type MateQuestion = {
  readonly animal: { readonly id: string; readonly sex: (typeof SEXES)[number]; readonly lineId: string | null };
  readonly keepers: ReadonlyMap<string, KeeperView>;
  readonly ownRegion: string | null;
  /** Days from birth to breeding: surely not before `least`, surely from `typical` on; null = not known. */
  readonly maturity: { readonly least: number; readonly typical: number } | null;
  /** Those in quarantine on the day. */
  readonly quarantined: ReadonlySet<string>;
  /** Those in quarantine today. Animals of others count by this too: when a quarantine ends is not told by asking for days. */
  readonly quarantinedToday: ReadonlySet<string>;
  readonly filters: MateFilters;
  readonly weights: MateWeights;
  readonly page: { readonly first: number; readonly afterId: string | null };
};

/** Why an animal that the viewer sees is not in the list. The first that applies is the one it is counted under. */
export const MISSES = [
  'other_line',
  'not_available',
  'not_grown_up',
  'sex_unknown',
  'not_open',
  'too_related',
  'too_little_known',
  'too_far',
] as const;
export type Miss = (typeof MISSES)[number];

export type FoundMate = MateFigures & {
  readonly id: string;
  readonly registerNumber: string;
  readonly place: number;
  /** Whether its holder shows the viewer what they hold. */
  readonly holderShown: boolean;
};

export type MateAnswer = {
  /** The page, with one more where there is one; null when the animal it goes on after is not in the list. */
  readonly found: readonly FoundMate[] | null;
  readonly total: number;
  /** Animals counted under their first reason. */
  readonly leftOut: Readonly<Record<Miss, number>>;
  /** Animals of the line that a filter leaves out, each counted under every reason but what its keeper keeps to themselves. */
  readonly failing: Readonly<Record<Miss, number>>;
  /** Of those that only the limit on kinship leaves out, the least related. */
  readonly leastRelated: { readonly registerNumber: string; readonly kinship: number } | null;
};

const EPSILON = 1e-9;
const BIT: Readonly<Record<Miss, number>> = Object.fromEntries(MISSES.map((miss, i) => [miss, 1 << i])) as Record<
  Miss,
  number
>;

/** Runs through all candidates once and keeps the best of the page. The table is not changed but for the indices it remembers. */
export function searchMates(table: CandidateTable, numbers: MateNumbers, question: MateQuestion): MateAnswer {
  const look = lookAt(table, numbers, question);
  const after = question.page.afterId === null ? undefined : entryOf(table, look, question, question.page.afterId);
  if (after === null) return { found: null, total: 0, leftOut: none(), failing: none(), leastRelated: null };

  const best: Entry[] = [];
  const limit = question.page.first + 1;
  const [leftOut, failing] = [none(), none()];
  let leastRelated: MateAnswer['leastRelated'] = null;
  let [total, before] = [0, 0];
  for (let place = 0; place < table.size; place++) {
    const misses = look.misses(place);
    if (misses < 0) continue;
    if (misses > 0) {
      count(misses, leftOut, failing);
      if (misses === BIT.too_related) leastRelated = closer(leastRelated, table, place, look.kinship(place));
      continue;
    }
    total += 1;
    const worst = best[limit - 1];
    // Nearly all are told apart by the parts that cost nothing: only what may be on the page is looked at in full.
    if (
      worst !== undefined &&
      look.atMost(place) < worst.score &&
      (after === undefined || look.atMost(place) < after.score)
    )
      continue;
    if (after !== undefined && look.atLeast(place) > after.score) {
      before += 1;
      continue;
    }
    const score = scoreOf(look.figures(place), question.weights, numbers.populationSize);
    const entry = { place, score, registerNumber: table.numbers[place] ?? '' };
    if (after !== undefined && compareMates(entry, after) <= 0) before += 1;
    else if (worst === undefined || compareMates(entry, worst) < 0) insert(best, entry, limit);
  }
  const found = best.map(({ place, registerNumber }, i) => ({
    ...look.figures(place),
    id: table.ids[place] ?? '',
    registerNumber,
    place: before + i + 1,
    holderShown: isHolderShown(
      question.keepers.get(table.keepers[table.holder[place] as number] ?? ''),
      table.holdings[place] as number,
    ),
  }));
  return { found, total, leftOut, failing, leastRelated };
}

type Entry = { readonly place: number; readonly score: number; readonly registerNumber: string };

/** Where in the order an animal stands; null when it is not in the list. */
function entryOf(table: CandidateTable, look: Look, question: MateQuestion, id: string): Entry | null {
  const place = table.find(id);
  if (place === undefined || look.misses(place) !== 0) return null;
  const score = scoreOf(look.figures(place), question.weights, look.populationSize);
  return { place, score, registerNumber: table.numbers[place] ?? '' };
}

function insert(best: Entry[], entry: Entry, limit: number): void {
  let at = best.length;
  while (at > 0 && compareMates(entry, best[at - 1] as Entry) < 0) at -= 1;
  best.splice(at, 0, entry);
  if (best.length > limit) best.pop();
}

function none(): Record<Miss, number> {
  return Object.fromEntries(MISSES.map((miss) => [miss, 0])) as Record<Miss, number>;
}

function count(misses: number, leftOut: Record<Miss, number>, failing: Record<Miss, number>): void {
  let first = true;
  for (const miss of MISSES) {
    if ((misses & BIT[miss]) === 0) continue;
    if (first) leftOut[miss] += 1;
    first = false;
    failing[miss] += 1;
  }
}

function closer(known: MateAnswer['leastRelated'], table: CandidateTable, place: number, kinship: number) {
  const candidate = { registerNumber: table.numbers[place] ?? '', kinship };
  if (known === null || candidate.kinship < known.kinship) return candidate;
  return candidate.kinship === known.kinship && candidate.registerNumber < known.registerNumber ? candidate : known;
}

type Look = {
  /** −1 where the viewer does not see it or it can never be a mate, else the reasons as bits; 0 = an option. */
  misses(place: number): number;
  kinship(place: number): number;
  /** Bounds of its score, from the three parts that stand in arrays. */
  atMost(place: number): number;
  atLeast(place: number): number;
  figures(place: number): MateFigures;
  readonly populationSize: number;
};

function lookAt(table: CandidateTable, numbers: MateNumbers, question: MateQuestion): Look {
  const { animal, filters, maturity, quarantined, quarantinedToday } = question;
  const views = table.keepers.map((keeper) => question.keepers.get(keeper));
  const sees = Uint8Array.from(views, (view) => (view?.sees === true ? 1 : 0));
  const owned = Uint8Array.from(views, (view) => (view?.own === true ? 1 : 0));
  const bands = bandsOf(table, question, views);
  const kept = new Set<DistanceBand>(filters.distances);
  table.useNumbering(numbers.numbering);
  const own = table.find(animal.id);
  const ownSex = SEXES.indexOf(animal.sex);
  const ownLine = table.lineNumber(animal.lineId);
  const on = dayNumber(filters.on);
  const { weights } = question;
  const whole = RANK_PARTS.reduce((sum, part) => sum + weights[part], 0);
  const rest = weights.readiness + weights.geneDiversityChange + weights.distance;
  // What rounding to the grid of goodness can add or take.
  const slack = 2 * EPSILON * whole;
  const knownOf = (index: number): number => (numbers.ownKnownAncestry + (numbers.knownAncestry[index] as number)) / 2;
  const inArrays = (index: number): number =>
    weights.offspringInbreeding * (1 - (numbers.kinship[index] as number)) +
    weights.meanKinship * (1 - (numbers.meanKinship[index] as number)) +
    weights.knownAncestry * knownOf(index);
  const isOwn = (place: number): boolean => {
    const holder = table.holder[place] as number;
    return (holder >= 0 && owned[holder] === 1) || (table.owners[place] ?? []).some((owner) => owned[owner] === 1);
  };
  // Of others' animals the year of birth is shared and no more: asking day by day would tell the day.
  const adultOf = (place: number): Answer =>
    isOwn(place)
      ? isAdult(table.bornEarliest[place] as number, table.bornLatest[place] as number, maturity, on)
      : isAdult(table.yearEarliest[place] as number, table.yearLatest[place] as number, maturity, on);
  const isApart = (place: number): boolean => {
    if (quarantined.size === 0 && quarantinedToday.size === 0) return false;
    const id = table.ids[place] as string;
    return quarantined.has(id) || (quarantinedToday.has(id) && !isOwn(place));
  };
  const openOf = (place: number): boolean | null =>
    isOpen(table.open[place] as number, table.openUntil[place] as number, on);

  const isSeen = (place: number): boolean => {
    const holder = table.holder[place] as number;
    if (holder >= 0 && sees[holder] === 1 && table.withheld[place] === 0) return true;
    for (const owner of table.sharers[place] ?? []) if (sees[owner] === 1) return true;
    // Nobody withholds an animal from themselves.
    return isOwn(place);
  };
  const indexOf = (place: number): number => {
    const known = table.pedigreeIndex[place] as number;
    const index = known >= 0 ? known : (numbers.indexOf(table.ids[place] as string) ?? -1);
    table.pedigreeIndex[place] = index;
    // A later search may have met an animal that this pedigree does not have yet.
    return index < numbers.kinship.length ? index : -1;
  };
  return {
    populationSize: numbers.populationSize,
    kinship: (place) => numbers.kinship[indexOf(place)] as number,
    atMost: (place) => inArrays(indexOf(place)) + rest + slack,
    atLeast: (place) => inArrays(indexOf(place)) - slack,
    figures(place) {
      const index = indexOf(place);
      return {
        sexKnown: table.sex[place] !== 0,
        parentless: numbers.parentless(index),
        adult: adultOf(place),
        open: openOf(place),
        offspringInbreeding: numbers.kinship[index] as number,
        meanKinship: numbers.meanKinship[index] as number,
        knownAncestry: knownOf(index),
        geneDiversityChange: numbers.geneDiversityChange(index),
        distance: bands(place),
      };
    },
    misses(place) {
      const sex = table.sex[place] as number;
      if (place === own || (ownSex !== 0 && sex === ownSex) || !isSeen(place)) return -1;
      // Registered after the pedigree was read: the next search has it.
      const index = indexOf(place);
      if (index < 0) return -1;
      if (!filters.otherLines && table.line[place] !== ownLine) return BIT.other_line;
      let misses = 0;
      if (table.promised[place] === 1 || isApart(place)) misses |= BIT.not_available;
      if (!filters.includeYoung && adultOf(place) === 'no') misses |= BIT.not_grown_up;
      if (filters.sexKnownOnly && sex === 0) misses |= BIT.sex_unknown;
      if (filters.onlyAvailable && openOf(place) !== true) misses |= BIT.not_open;
      if ((numbers.kinship[index] as number) > filters.maxKinship + EPSILON) misses |= BIT.too_related;
      if (knownOf(index) < filters.minKnownAncestry - EPSILON) misses |= BIT.too_little_known;
      if (kept.size < DISTANCE_BANDS.length && !kept.has(bands(place))) misses |= BIT.too_far;
      return misses;
    },
  };
}

/** The distance band of a place: told only where enough keepers of the viewer's clubs have animals of its line. */
function bandsOf(table: CandidateTable, question: MateQuestion, views: readonly (KeeperView | undefined)[]) {
  const width = table.keepers.length;
  const inClub = Uint8Array.from(views, (view) => (view?.inClub === true ? 1 : 0));
  const counted = new Uint8Array(width * (table.lines.length + 1));
  const holders = new Int32Array(table.lines.length + 1);
  for (let place = 0; place < table.size; place++) {
    const holder = table.holder[place] as number;
    if (table.ids[place] === '' || holder < 0 || inClub[holder] === 0) continue;
    const line = (table.line[place] as number) + 1;
    const at = line * width + holder;
    if (counted[at] === 1) continue;
    counted[at] = 1;
    holders[line] = (holders[line] as number) + 1;
  }
  const near = Uint8Array.from(views, (view) =>
    DISTANCE_BANDS.indexOf(distanceBand(question.ownRegion, view?.region ?? null, true, FEWEST_HOLDERS)),
  );
  return (place: number): DistanceBand => {
    const holder = table.holder[place] as number;
    const told = holder >= 0 && (holders[(table.line[place] as number) + 1] as number) >= FEWEST_HOLDERS;
    return told && isHolderShown(views[holder], table.holdings[place] as number)
      ? (DISTANCE_BANDS[near[holder] as number] as DistanceBand)
      : 'not_shown';
  };
}

/** Whether the holder of an animal shows the viewer that they have it; `holdings` is what the table has for the animal. */
function isHolderShown(view: KeeperView | undefined, holdings: number): boolean {
  if (view === undefined) return false;
  return holdings < 0 ? view.shown : view.own || (view.inClub && HOLDINGS[holdings] === 'club');
}

/** As `isGrownUp` of the taxon context, on day numbers; tests hold them together. */
export function isAdult(
  bornEarliest: number,
  bornLatest: number,
  maturity: MateQuestion['maturity'],
  on: number,
): Answer {
  if (maturity === null) return 'possible';
  if (bornEarliest !== NO_DAY && on - maturity.least < bornEarliest) return 'no';
  return bornLatest !== NO_DAY && bornLatest <= on - maturity.typical ? 'yes' : 'possible';
}

function isOpen(open: number, until: number, on: number): boolean | null {
  if (open < 0 || (until !== NO_DAY && until < on)) return null;
  return open === 1;
}
