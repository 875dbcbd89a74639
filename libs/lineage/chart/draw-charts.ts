import { Injectable } from '@nestjs/common';
import { AnimalReadStore, type AnimalView } from '../../animal/index.js';
import { formatRegisterNumber, type RegisterNumber, type Viewer } from '../../kernel/index.js';
import { Clock } from '../../platform/clock.js';
import { TaxonStore } from '../../taxon/index.js';
import { KinshipTables } from '../questions/kinship-table.js';
import { LivePedigree } from '../pedigree/live-pedigree.js';
import { toSvg } from './drawing-svg.js';
import { layoutKinshipMap } from './kinship-map.core.js';
import { layoutPedigree } from './pedigree-layout.core.js';
import { animalsOf, pedigreePlaces } from './pedigree-places.core.js';
import { type ChartAnimal } from './place-lines.core.js';

/** Generations of ancestors drawn at most. */
export const MAX_DRAWN = 6;

/** Draws charts as SVG, from what the viewer may see. */
@Injectable()
export class DrawCharts {
  constructor(
    private readonly tables: KinshipTables,
    private readonly pedigrees: LivePedigree,
    private readonly animals: AnimalReadStore,
    private readonly taxa: TaxonStore,
    private readonly clock: Clock,
  ) {}

  /**
   * The pedigree of an animal, by id or register number, over 1 to `MAX_DRAWN` generations. Ancestors that are not shown to
   * the viewer stand in it without identity. NOT_FOUND; LINEAGE_CHANGED_SINCE for a past holder whose animal has other
   * ancestors now.
   */
  async pedigree(viewer: Viewer, name: string, generations: number): Promise<string> {
    const [subject] = await this.tables.find(viewer, [name]);
    if (subject === undefined) throw new Error('One animal was asked for, none was found and none was missing.');
    await this.tables.refuseChanged([subject]);
    const snapshot = await this.pedigrees.of(subject.taxonId);
    const index = snapshot.indexOf.get(subject.id);
    if (index === undefined) throw new Error('A registered animal is missing from its pedigree.');
    const root = pedigreePlaces(snapshot.pedigree, index, generations);
    const ids = animalsOf(root).flatMap((animal) => snapshot.ids.at(animal) ?? []);
    const views = await this.animals.findVisible(viewer, ids);
    return toSvg(
      layoutPedigree({
        root,
        generations,
        animal: (animal) => toChartAnimal(animal === index ? subject : views.get(snapshot.ids.at(animal) ?? '')),
        taxon: await this.taxonName(subject.taxonId),
        inbreeding: snapshot.inbreeding[index] ?? 0,
        knownAncestry: snapshot.knownAncestry[index] ?? 0,
        asOf: this.clock.today(),
        version: String(snapshot.version),
      }),
    );
  }

  /** The kinship of each of some animals with each; see `KinshipTables.read` for what it refuses. */
  async kinshipMap(viewer: Viewer, names: readonly string[]): Promise<string> {
    const table = await this.tables.read(viewer, names);
    return toSvg(
      layoutKinshipMap({
        taxon: await this.taxonName(table.taxonId),
        members: table.animals.map((view, k) => ({
          name: view.record?.name ?? null,
          registerNumber: formatRegisterNumber(view.registerNumber as RegisterNumber),
          knownAncestry: table.knownAncestry[k] ?? 0,
        })),
        kinships: table.kinships,
        asOf: table.asOf,
        version: String(table.version),
      }),
    );
  }

  private async taxonName(id: string): Promise<string> {
    return (await this.taxa.findMany([id])).get(id)?.scientificName ?? '';
  }
}

function toChartAnimal(view: AnimalView | undefined): ChartAnimal {
  if (view === undefined) return { shown: false };
  return {
    shown: true,
    name: view.record?.name ?? null,
    registerNumber: formatRegisterNumber(view.registerNumber as RegisterNumber),
    sex: view.sex,
    birthYear: view.birthYear,
    isLot: view.kind === 'lot',
    declaredFounder: view.declaredFounder === true,
  };
}
