import { Injectable } from '@nestjs/common';
import { AnimalReadStore, type AnimalView } from '../../animal/index.js';
import {
  type Day,
  invalidInput,
  isId,
  notFound,
  parseRegisterNumber,
  ruleRefused,
  type Viewer,
} from '../../kernel/index.js';
import { Clock } from '../../platform/clock.js';
import { RequestLoaders } from '../../platform/graphql/index.js';
import { LivePedigree } from '../pedigree/live-pedigree.js';
import { PastLineage } from '../pedigree/past-lineage.js';
import { RelateAnimals } from './relate-animals.js';

/** Most animals whose kinship is tabled at once. */
export const MAX_TABLE = 60;

/** No animal's id: asked for all the same, so that the time of an answer does not tell which numbers exist. */
const NOBODY = '00000000-0000-0000-0000-000000000000';

/** Kinship of each of some animals with each. */
export type KinshipTable = {
  readonly animals: readonly AnimalView[];
  readonly taxonId: string;
  readonly knownAncestry: readonly number[];
  /** One row an animal, in the order of `animals`; with itself (1 + F) / 2. */
  readonly kinships: readonly (readonly number[])[];
  readonly version: bigint;
  readonly asOf: Day;
};

/** Finds animals a viewer names, and reads how they are related. */
@Injectable()
export class KinshipTables {
  constructor(
    private readonly animals: AnimalReadStore,
    private readonly pedigrees: LivePedigree,
    private readonly past: PastLineage,
    private readonly relate: RelateAnimals,
    private readonly clock: Clock,
  ) {}

  /** The animals behind ids or register numbers, in the order named. NOT_FOUND where the viewer does not see one of them. */
  async find(viewer: Viewer, names: readonly string[]): Promise<AnimalView[]> {
    const ids = await Promise.all(names.map(async (name) => (isId(name) ? name.toLowerCase() : this.idOf(name))));
    const views = await this.animals.findVisible(viewer, ids);
    return ids.map((id) => {
      const view = views.get(id);
      if (view === undefined) throw notFound('animal');
      return view;
    });
  }

  /**
   * The table of some animals. INVALID_INPUT for fewer than two or more than `MAX_TABLE`, for an animal named twice, and for
   * animals of different taxa; NOT_FOUND; LINEAGE_CHANGED_SINCE for a past holder whose animal has other ancestors now.
   */
  async read(viewer: Viewer, names: readonly string[]): Promise<KinshipTable> {
    if (names.length < 2 || names.length > MAX_TABLE)
      throw wrong(`A table holds 2 to ${MAX_TABLE} animals; ${names.length} are named.`, 'Name fewer or more animals.');
    const animals = await this.find(viewer, names);
    if (new Set(animals.map(({ id }) => id)).size < animals.length)
      throw wrong('An animal is named twice.', 'Name each animal once.');
    const [{ taxonId } = { taxonId: '' }] = animals;
    if (animals.some((animal) => animal.taxonId !== taxonId))
      throw wrong('The animals are of different taxa.', 'Name animals of one taxon.');
    await this.refuseChanged(animals);
    const snapshot = await this.pedigrees.of(taxonId);
    return {
      animals,
      taxonId,
      knownAncestry: animals.map(({ id }) => snapshot.knownAncestry[snapshot.indexOf.get(id) ?? -1] ?? 0),
      kinships: await this.relate.table(snapshot, animals),
      version: snapshot.version,
      asOf: this.clock.today(),
    };
  }

  /** LINEAGE_CHANGED_SINCE where numbers of today would tell a past holder what was recorded since. */
  async refuseChanged(animals: readonly AnimalView[]): Promise<void> {
    const loaders = new RequestLoaders();
    const changed = await Promise.all(animals.map((animal) => this.past.isChanged(animal, loaders)));
    if (!changed.includes(true)) return;
    throw ruleRefused({
      rule: 'LINEAGE_CHANGED_SINCE',
      message:
        'Ancestors of an animal you gave away were recorded otherwise since. The number of today is not yours to read.',
    });
  }

  private async idOf(name: string): Promise<string> {
    const number = parseRegisterNumber(name);
    return (number.ok ? await this.animals.findId(number.value) : null) ?? NOBODY;
  }
}

function wrong(message: string, remedy: string) {
  return invalidInput([{ path: 'animals', message, remedy }]);
}
