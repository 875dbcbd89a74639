import { Injectable } from '@nestjs/common';
import { type AnimalView } from '../../animal/index.js';
import { type KinshipTies, relationshipWords, type RelationshipWords } from '../../genetics/index.js';
import { Compute, defineWork } from '../../platform/compute/index.js';
import { LivePedigree } from '../pedigree/live-pedigree.js';
import { type PedigreeSnapshot } from '../pedigree/pedigree-snapshot.core.js';
import { kinshipsOf, tiesOf } from './relate.core.js';

/** Shared ancestors told at most. */
export const MAX_SHARED_ANCESTORS = 20;
/** From this many animals on, what is asked of a pair would be felt by other requests. */
const IN_THREAD_FROM = 20_000;

const module = new URL('./relate.core.js', import.meta.url);
const tiesInThread = defineWork<typeof tiesOf>(module, 'tiesOf');
const kinshipsInThread = defineWork<typeof kinshipsOf>(module, 'kinshipsOf');

/** How two animals are related. */
export type Related = {
  readonly ties: KinshipTies;
  readonly words: RelationshipWords;
  readonly snapshot: PedigreeSnapshot;
  /** Share of the ancestry of each that leads back to founders. */
  readonly knownAncestry: readonly [number, number];
};

/** Relates animals of one taxon to one another. Large pedigrees are searched in a thread. */
@Injectable()
export class RelateAnimals {
  constructor(
    private readonly pedigrees: LivePedigree,
    private readonly compute: Compute,
  ) {}

  /** In the pedigree of today. */
  async execute(a: AnimalView, b: AnimalView): Promise<Related> {
    return this.within(await this.pedigrees.of(a.taxonId), a, b);
  }

  /** The same in a pedigree the caller has. */
  async within(snapshot: PedigreeSnapshot, a: AnimalView, b: AnimalView): Promise<Related> {
    const { pedigree, inbreeding, sampling, knownAncestry } = snapshot;
    const [ia, ib] = [numberOf(snapshot, a), numberOf(snapshot, b)];
    const input = { pedigree, inbreeding, sampling, a: ia, b: ib };
    const ties = isLarge(snapshot) ? await this.compute.run(tiesInThread, input) : tiesOf(input);
    return {
      ties,
      words: relationshipWords(ties, { a: told(a.sex), b: told(b.sex) }),
      snapshot,
      knownAncestry: [knownAncestry[ia] ?? 0, knownAncestry[ib] ?? 0],
    };
  }

  /** Kinship of each of some animals with each, one row an animal, in the order given. */
  async table(snapshot: PedigreeSnapshot, animals: readonly AnimalView[]): Promise<number[][]> {
    const { pedigree, inbreeding, sampling } = snapshot;
    const numbers = animals.map((animal) => numberOf(snapshot, animal));
    const input = { pedigree, inbreeding, sampling, animals: numbers };
    return isLarge(snapshot) ? this.compute.run(kinshipsInThread, input) : kinshipsOf(input);
  }
}

function numberOf({ indexOf }: PedigreeSnapshot, { id }: AnimalView): number {
  const number = indexOf.get(id);
  if (number === undefined) throw new Error('A registered animal is missing from its pedigree.');
  return number;
}

function isLarge({ ids }: PedigreeSnapshot): boolean {
  return ids.length >= IN_THREAD_FROM;
}

function told(sex: AnimalView['sex']): 'male' | 'female' | null {
  return sex === 'unknown' ? null : sex;
}
