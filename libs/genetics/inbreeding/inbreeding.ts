import { inbreedingByTable, type TimesInUse, timesInUse } from './inbreeding-by-table.js';
import { inbreedingInBlocks, type InbreedingWork, workingMemory } from './inbreeding-in-blocks.js';
import { inbreedingUncertain } from './inbreeding-uncertain.js';
import { groupOffspring, numberParents, type ParentPedigree } from './parent-pedigree.js';
import type { Pedigree } from '../pedigree/pedigree.js';
import { addToQueue, listAncestors, slotQueue } from './slot-queue.js';

/** The sliding table may hold so many parents at most: 69 MiB. */
const WIDEST_TABLE = 3000;

/** A number of the table costs about half of what an ancestor costs in a product (measured: 3 … 7 ns and 6 … 12 ns). */
const ANCESTOR_COST = 2;

/** Parents whose ancestors are counted to choose the method. */
const SAMPLE = 24;

/**
 * Inbreeding coefficient F of every animal, F = kinship of its parents (Wright 1922; Malécot 1948). Animals with an
 * unknown parent have F = 0; unknown parents are taken as unrelated and not inbred, so F is a lower bound.
 *
 * Only animals with offspring take part; those without never stand between two others. Narrow, deep
 * pedigrees go through a sliding table of relationships ({@link inbreedingByTable}), others through products restricted to
 * ancestors ({@link inbreedingInBlocks}), whichever promises to be faster; both are exact. Where parents have candidates the method is
 * {@link inbreedingUncertain}.
 *
 * @returns n coefficients
 */
export function inbreeding(pedigree: Pedigree): Float64Array {
  if (pedigree.sireCandidates || pedigree.damCandidates) return inbreedingUncertain(pedigree);
  const f = new Float64Array(pedigree.order.length);
  const parents = numberParents(pedigree);
  const use = timesInUse(pedigree, parents);
  if (use.most <= Math.min(WIDEST_TABLE, ANCESTOR_COST * meanAncestors(parents)))
    inbreedingByTable(pedigree, parents, use, f);
  else inbreedingInBlocks(parents, groupOffspring(pedigree, parents, 'fewer'), f);
  return f;
}

/**
 * Prepares F of all for several threads: each runs {@link inbreedingPart} on what this returns, and afterwards the answer is
 * its `f`. Two idle cores halve the time at a million animals (measured).
 *
 * @returns null where it would not pay, or not work: narrow pedigrees and such with candidates; use {@link inbreeding} there
 */
export function shareInbreeding(pedigree: Pedigree): InbreedingWork | null {
  if (pedigree.sireCandidates || pedigree.damCandidates) return null;
  const parents = numberParents(pedigree);
  if (tableIsFaster(parents, timesInUse(pedigree, parents))) return null;
  const offspring = groupOffspring(pedigree, parents, 'fewer');
  const memory = (bytes: number): SharedArrayBuffer => new SharedArrayBuffer(bytes);
  const shared = (from: Int32Array): Int32Array => {
    const copy = new Int32Array(memory(from.byteLength));
    copy.set(from);
    return copy;
  };
  return {
    parents: {
      count: parents.count,
      sire: shared(parents.sire),
      dam: shared(parents.dam),
      slotOf: shared(parents.slotOf),
      generationStart: shared(parents.generationStart),
    },
    offspring: { start: shared(offspring.start), child: shared(offspring.child), mate: shared(offspring.mate) },
    f: new Float64Array(memory(8 * pedigree.order.length)),
    ...workingMemory(parents.count, memory),
  };
}

function tableIsFaster(parents: ParentPedigree, { most }: TimesInUse): boolean {
  return most <= Math.min(WIDEST_TABLE, ANCESTOR_COST * meanAncestors(parents));
}

/** Mean number of ancestors, the animal itself included, of some parents evenly spaced. */
function meanAncestors(parents: ParentPedigree): number {
  const { count } = parents;
  const queue = slotQueue(count);
  const list = new Int32Array(count);
  const step = Math.max(1, Math.floor(count / SAMPLE));
  let looked = 0;
  let found = 0;
  for (let slot = count; slot > 0; slot -= step) {
    addToQueue(queue, slot);
    found += listAncestors(parents, queue, slot, 1, list);
    looked++;
  }
  return looked === 0 ? 0 : found / looked;
}
