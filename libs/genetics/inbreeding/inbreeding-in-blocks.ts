import type { OffspringByPivot, ParentPedigree } from './parent-pedigree.js';
import { BLOCK_WIDTH, relationshipBlock } from './relationship-block.js';
import { mendelianSampling } from '../kinship/relationship.js';

/**
 * F of all offspring of a pedigree by relationship products, a few parents at a time: after Colleau 2002 (Genet. Sel. Evol.
 * 34:409) and Sargolzaei, Iwaisaki & Colleau 2005 (J. Anim. Breed. Genet. 122:325).
 *
 * Generation by generation, for each parent p of the sex that has fewer, one product gives its relationship with all its
 * mates, restricted to the ancestors of p and of the mates; F of each of its offspring is half of that. D of an ancestor of p
 * needs the F of its parents only, and they are of older generations; so the parents of one generation do not wait for one
 * another. Brothers and sisters, and half siblings by p, share the work. A mate that is p itself (selfing) needs no product:
 * A_pp = 1 + F_p.
 *
 * @param f n zeros, filled in by animal
 */
export function inbreedingInBlocks(parents: ParentPedigree, offspring: OffspringByPivot, f: Float64Array): void {
  const part = inbreedingPart({
    parents,
    offspring,
    f,
    ...workingMemory(parents.count, (length) => new ArrayBuffer(length)),
  });
  while (part.next().done !== true);
}

/** What threads that compute F together have in common. Nothing but plain arrays: it can be handed to a thread. */
export interface InbreedingWork {
  readonly parents: ParentPedigree;
  readonly offspring: OffspringByPivot;
  /** The answer: F of every animal, n numbers. */
  readonly f: Float64Array;
  /** F by slot, −1 in slot 0, the unknown parent: see mendelianSampling. */
  readonly slotF: Float64Array;
  /** D by slot. */
  readonly sampling: Float64Array;
  /** One number: how many blocks have been taken. */
  readonly taken: Int32Array;
}

/** The arrays of {@link InbreedingWork} that are filled on the way. */
export function workingMemory(
  count: number,
  memory: (bytes: number) => ArrayBuffer | SharedArrayBuffer,
): Pick<InbreedingWork, 'slotF' | 'sampling' | 'taken'> {
  const slotF = new Float64Array(memory(8 * (count + 1)));
  slotF[0] = -1;
  return { slotF, sampling: new Float64Array(memory(8 * (count + 1))), taken: new Int32Array(memory(4)) };
}

/**
 * One thread's part of the work, the whole of it where there is one thread. It stops after each generation: no part may go
 * on before every part has come so far. Blocks go to whoever is free; D, and the young of selfing, each part works out for
 * itself, all the same numbers. 40 bytes a parent of its own.
 */
export function* inbreedingPart(work: InbreedingWork): Generator<void, void> {
  const { parents, offspring, f, slotF, sampling, taken } = work;
  const { sire, dam, slotOf, generationStart } = parents;
  const { start, child, mate } = offspring;
  const block = relationshipBlock(parents, offspring, sampling);
  let pivots: number[] = [];
  let met = 0;
  let mine = Atomics.add(taken, 0, 1);

  const settle = (pivot: number, place: number): void => {
    const end = start[pivot + 1] as number;
    for (let k = start[pivot] as number; k < end; k++) {
      const other = mate[k] as number;
      const relationship = other === pivot ? 1 + (slotF[pivot] as number) : block.relationship(place, other);
      const animal = child[k] as number;
      f[animal] = 0.5 * relationship;
      const slot = slotOf[animal] as number;
      if (slot > 0) slotF[slot] = 0.5 * relationship;
    }
  };
  const finishBlock = (): void => {
    if (pivots.length === 0) return;
    if (met++ === mine) {
      block.fill(pivots);
      for (let place = 0; place < pivots.length; place++) settle(pivots[place] as number, place);
      block.clear();
      mine = Atomics.add(taken, 0, 1);
    }
    pivots = [];
  };

  for (let g = 0; g + 1 < generationStart.length; g++) {
    const end = generationStart[g + 1] as number;
    for (let slot = generationStart[g] as number; slot < end; slot++)
      sampling[slot] = mendelianSampling(slotF[sire[slot] as number] as number, slotF[dam[slot] as number] as number);
    for (let slot = generationStart[g] as number; slot < end; slot++) {
      if (hasOtherMate(slot, offspring)) {
        pivots.push(slot);
        if (pivots.length === BLOCK_WIDTH) finishBlock();
      } else settle(slot, 0);
    }
    finishBlock();
    yield;
  }
}

function hasOtherMate(pivot: number, { start, mate }: OffspringByPivot): boolean {
  const end = start[pivot + 1] as number;
  for (let k = start[pivot] as number; k < end; k++) if (mate[k] !== pivot) return true;
  return false;
}
