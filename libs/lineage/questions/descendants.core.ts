import type { Candidates, Pedigree } from '../../genetics/index.js';

/** The animals that descend from one animal, in generations: those of generation g stand at `start[g − 1]` … `start[g]` − 1. */
export type Descendants = {
  /** Numbers of the pedigree; within a generation in ascending order. */
  readonly animals: Int32Array;
  /** One offset a generation and the end. */
  readonly start: readonly number[];
  /** Expected share of the animal in the genes of each: T of A = T D Tᵀ, over all ways down. */
  readonly share: Float64Array;
  /**
   * Probability that each descends from the animal at all; 1 where certain parents lead to it. Candidates of one claim
   * exclude each other and add up; where sire and dam may both descend from the animal it is the greater of the two, a
   * lower bound.
   */
  readonly probability: Float64Array;
};

/** Finds the descendants of any animal of one pedigree, without a look at all others. */
export type DescendantFinder = { of(animal: number): Descendants };

/**
 * Lists the children of every animal once, O(n + candidates), and then answers in the time its descendants need.
 * Candidate parents count as parents with their probability. Memory: 4 bytes a parent, 12 an animal.
 */
export function descendantFinder(pedigree: Pedigree): DescendantFinder {
  const { sire, dam, order, sireCandidates, damCandidates } = pedigree;
  const n = order.length;
  const { start, child } = listChildren(pedigree);
  const rank = new Int32Array(n);
  for (let k = 0; k < n; k++) rank[order[k] as number] = k;
  /** Place of each descendant in the answer under way, from 2 on; 1 = the animal itself, 0 = not met. */
  const place = new Int32Array(n);

  /** Walks down, a generation at a time. The queue holds the animal first. */
  const walk = (animal: number): { queue: number[]; offsets: number[] } => {
    const queue = [animal];
    const offsets = [0];
    place[animal] = 1;
    for (let from = 0, to = 1; from < to; from = to, to = queue.length) {
      for (let k = from; k < to; k++) {
        const parent = queue[k] as number;
        for (let c = start[parent] as number; c < (start[parent + 1] as number); c++) {
          const next = child[c] as number;
          if (place[next] !== 0) continue;
          place[next] = 1;
          queue.push(next);
        }
      }
      if (queue.length > to) offsets.push(queue.length - 1);
    }
    return { queue, offsets };
  };

  /** The animals with their parents before them: a sort of the few, or one look along the order of the many. */
  const parentsFirst = (animals: Int32Array): Int32Array =>
    animals.length > n / 16
      ? order.filter((i) => (place[i] as number) > 1)
      : animals.slice().sort((a, b) => (rank[a] as number) - (rank[b] as number));

  return {
    of(animal) {
      const { queue, offsets } = walk(animal);
      const animals = Int32Array.from(queue.slice(1));
      for (let g = 1; g < offsets.length; g++) animals.subarray(offsets[g - 1], offsets[g]).sort();
      for (let k = 0; k < animals.length; k++) place[animals[k] as number] = k + 2;
      const share = new Float64Array(animals.length + 2);
      const probability = new Float64Array(animals.length + 2);
      share[1] = 1;
      probability[1] = 1;
      const side = (values: Float64Array, certain: number, candidates: Candidates | undefined, i: number): number => {
        if (certain >= 0) return values[place[certain] as number] as number;
        let sum = 0;
        if (candidates !== undefined)
          for (let c = candidates.start[i] as number; c < (candidates.start[i + 1] as number); c++)
            sum +=
              (candidates.probability[c] as number) *
              (values[place[candidates.parent[c] as number] as number] as number);
        return sum;
      };
      for (const i of parentsFirst(animals)) {
        const [s, d, at] = [sire[i] as number, dam[i] as number, place[i] as number];
        share[at] = 0.5 * (side(share, s, sireCandidates, i) + side(share, d, damCandidates, i));
        probability[at] = Math.max(side(probability, s, sireCandidates, i), side(probability, d, damCandidates, i));
      }
      for (const each of queue) place[each] = 0;
      return { animals, start: offsets, share: share.subarray(2), probability: probability.subarray(2) };
    },
  };
}

/** Children of every animal, packed: those of animal p stand at `start[p]` … `start[p + 1]` − 1, twice where it is both parents. */
function listChildren({ sire, dam, sireCandidates, damCandidates }: Pedigree): {
  start: Int32Array;
  child: Int32Array;
} {
  const n = sire.length;
  const start = new Int32Array(n + 1);
  const eachParent = (visit: (parent: number, child: number) => void): void => {
    for (const [certain, candidates] of [
      [sire, sireCandidates],
      [dam, damCandidates],
    ] as const) {
      for (let i = 0; i < n; i++) {
        const parent = certain[i] as number;
        if (parent >= 0) visit(parent, i);
        if (candidates === undefined) continue;
        for (let c = candidates.start[i] as number; c < (candidates.start[i + 1] as number); c++)
          visit(candidates.parent[c] as number, i);
      }
    }
  };
  eachParent((parent) => (start[parent + 1] = (start[parent + 1] as number) + 1));
  for (let i = 0; i < n; i++) start[i + 1] = (start[i + 1] as number) + (start[i] as number);
  const child = new Int32Array(start[n] as number);
  const free = start.slice(0, n);
  eachParent((parent, i) => {
    const at = free[parent] as number;
    free[parent] = at + 1;
    child[at] = i;
  });
  return { start, child };
}

/** Where a page of descendants goes on: after the one with this id, in this generation. */
export type DescendantPlace = { readonly generation: number; readonly id: string };

/** One descendant as it stands in a page. */
export type DescendantRow = DescendantPlace & { readonly share: number; readonly probability: number };

/** Pages through the descendants of one animal; made once, so that a page costs what stands on it. */
export type DescendantPager = {
  /**
   * Up to `count` descendants of at most `generations` generations, nearest first, within a generation by id, after a
   * place; whether that one is still among them does not matter.
   */
  page(generations: number, after: DescendantPlace | null, count: number): DescendantRow[];
};

/** @param idOf the id of an animal of the pedigree */
export function descendantPager(found: Descendants, idOf: (animal: number) => string): DescendantPager {
  const { animals, start, share, probability } = found;
  const sorted = new Map<number, Int32Array>();

  /** Places of a generation in the order of ids. Numbers mostly follow ids, but need not where a pedigree has grown. */
  const inOrder = (generation: number): Int32Array => {
    const known = sorted.get(generation);
    if (known !== undefined) return known;
    const from = start[generation - 1] ?? 0;
    const ids = Array.from(animals.subarray(from, start[generation]), idOf);
    const places = Int32Array.from(ids.keys());
    if (ids.some((id, k) => k > 0 && id < (ids[k - 1] ?? '')))
      places.sort((a, b) => ((ids[a] ?? '') < (ids[b] ?? '') ? -1 : 1));
    const made = places.map((place) => place + from);
    sorted.set(generation, made);
    return made;
  };

  const startAfter = (places: Int32Array, id: string): number => {
    let [low, high] = [0, places.length];
    while (low < high) {
      const middle = (low + high) >> 1;
      if (idOf(animals[places[middle] as number] as number) > id) high = middle;
      else low = middle + 1;
    }
    return low;
  };

  return {
    page(generations, after, count) {
      const rows: DescendantRow[] = [];
      for (let g = Math.max(after?.generation ?? 1, 1); g <= generations && g < start.length; g++) {
        const places = inOrder(g);
        const from = after?.generation === g ? startAfter(places, after.id) : 0;
        for (const k of places.subarray(from, from + count - rows.length))
          rows.push({
            generation: g,
            id: idOf(animals[k] as number),
            share: share[k] as number,
            probability: probability[k] as number,
          });
        if (rows.length === count) break;
      }
      return rows;
    },
  };
}
