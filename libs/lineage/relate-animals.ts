import { Injectable } from '@nestjs/common';
import {
  kinshipTies,
  type KinshipTies,
  mendelianSamplings,
  relationshipWords,
  type RelationshipWords,
} from '../genetics/index.js';
import { type AnimalView } from '../animal/index.js';
import { LivePedigree } from './live-pedigree.js';
import { type PedigreeSnapshot } from './pedigree-snapshot.core.js';

/** Shared ancestors told at most. */
export const MAX_SHARED_ANCESTORS = 20;
/** How far ties are followed in a deep and inbred pedigree: some hundredths of a second. */
const MOST_POSITIONS = 4_000;

/** How two animals are related. */
export type Related = {
  readonly ties: KinshipTies;
  readonly words: RelationshipWords;
  readonly snapshot: PedigreeSnapshot;
  /** Share of the ancestry of each that leads back to founders. */
  readonly knownAncestry: readonly [number, number];
};

/** Relates animals of one taxon in the pedigree of today. */
@Injectable()
export class RelateAnimals {
  /** Mendelian samplings of pedigrees with several possible parents: one pass over all animals, the same for every pair. */
  private readonly samplings = new WeakMap<PedigreeSnapshot, Float64Array>();

  constructor(private readonly pedigrees: LivePedigree) {}

  async execute(a: AnimalView, b: AnimalView): Promise<Related> {
    return this.within(await this.pedigrees.of(a.taxonId), a, b);
  }

  /** The same in a pedigree the caller has. */
  within(snapshot: PedigreeSnapshot, a: AnimalView, b: AnimalView): Related {
    const { pedigree, inbreeding, knownAncestry } = snapshot;
    const [ia, ib] = [snapshot.indexOf.get(a.id), snapshot.indexOf.get(b.id)];
    if (ia === undefined || ib === undefined) throw new Error('A registered animal is missing from its pedigree.');
    const ties = kinshipTies(pedigree, inbreeding, ia, ib, this.samplingOf(snapshot), MOST_POSITIONS);
    return {
      ties,
      words: relationshipWords(ties, { a: told(a.sex), b: told(b.sex) }),
      snapshot,
      knownAncestry: [knownAncestry[ia] ?? 0, knownAncestry[ib] ?? 0],
    };
  }

  private samplingOf(snapshot: PedigreeSnapshot): Float64Array | undefined {
    const { pedigree, inbreeding } = snapshot;
    // Where all parents are certain it follows from the parents' inbreeding, and no table is needed.
    if (pedigree.sireCandidates === undefined && pedigree.damCandidates === undefined) return undefined;
    const known = this.samplings.get(snapshot) ?? mendelianSamplings(pedigree, inbreeding);
    this.samplings.set(snapshot, known);
    return known;
  }
}

function told(sex: AnimalView['sex']): 'male' | 'female' | null {
  return sex === 'unknown' ? null : sex;
}
