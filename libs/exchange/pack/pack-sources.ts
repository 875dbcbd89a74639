import { Injectable } from '@nestjs/common';
import {
  AnimalFileStore,
  AnimalReadStore,
  type AnimalView,
  FactHistoryStore,
  MarkReadStore,
} from '../../animal/index.js';
import { ReadBreeders } from '../../breeding/index.js';
import { DocumentReadStore } from '../../document/index.js';
import { type Viewer } from '../../kernel/index.js';
import { groupRows } from '../../taxon/index.js';
import { wasInForce } from './pack-moment.js';
import { RecordPackStore } from './record-pack.store.js';

/** Everything recorded of the animals of a pack, every version, as stored; what documents and files there are as the viewer sees them. */
@Injectable()
export class PackSources {
  // eslint-disable-next-line max-params -- what is recorded comes from seven places, each asked once
  constructor(
    private readonly animals: AnimalReadStore,
    private readonly factHistory: FactHistoryStore,
    private readonly marks: MarkReadStore,
    private readonly files: AnimalFileStore,
    private readonly documents: DocumentReadStore,
    private readonly breeders: ReadBreeders,
    private readonly store: RecordPackStore,
  ) {}

  /** A fixed number of statements, however many animals. `views` are the viewer's. */
  async read(viewer: Viewer, views: readonly AnimalView[]) {
    const ids = views.map((view) => view.id);
    const clutches = await this.store.findClutches(ids);
    const marks = await this.animals.findMarks(ids);
    const covers = await this.store.findCovers(ids);
    const ends = new Map(views.map((view) => [view.id, view.readsUntil]));
    const named = covers.filter((row) => wasInForce(row, ends.get(row.animalId) ?? null));
    const documents = await this.documents.findVisible(viewer, [...new Set(named.map(({ id }) => id))]);
    return {
      own: await this.store.findNames(viewer.keepers.map(({ keeperId }) => keeperId)),
      facts: await this.factHistory.findVersions(ids),
      marks,
      sessions: await this.marks.findSessions([...marks.values()].flat().map((mark) => mark.id)),
      matings: await this.store.findMatings(ids),
      clutches,
      breedersAt: await this.breeders.read(clutches.flatMap(({ versions }) => versions[0]?.originalId ?? [])),
      merges: await this.store.findMerges(ids),
      changes: await this.store.findLotChanges(ids),
      custody: groupRows(await this.store.findCustody(ids), (row) => row.animalId),
      ownership: groupRows(await this.store.findOwnership(ids), (row) => row.animalId),
      quarantines: await this.store.findQuarantines(ids),
      documents: groupRows(
        named.flatMap(({ animalId, id }) => {
          const document = documents.get(id);
          return document === undefined ? [] : [{ animalId, document }];
        }),
        (row) => row.animalId,
      ),
      files: await this.files.findOfAnimals(viewer, ids),
    };
  }
}
