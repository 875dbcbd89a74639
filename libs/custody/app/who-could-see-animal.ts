import { Injectable } from '@nestjs/common';
import { mayAskAbout, type Sight, whoCouldSee } from '../../access/index.js';
import { AnimalReadStore } from '../../animal/index.js';
import { type Day, forbidden, invalidInput, notFound, type Viewer } from '../../kernel/index.js';
import { Clock } from '../../platform/clock.js';
import { SharingReadStore } from '../store/sharing-read.store.js';

/** One who could see an animal, as far as the asker may know who that is. */
export type NamedSight = Sight & { readonly label: string | null };

/** Who could see an animal on a day, for those who had or owned it that day. */
@Injectable()
export class WhoCouldSeeAnimal {
  constructor(
    private readonly animals: AnimalReadStore,
    private readonly sharing: SharingReadStore,
    private readonly clock: Clock,
  ) {}

  /**
   * NOT_FOUND for an animal the viewer may not see, FORBIDDEN for a day on which no keeper of the viewer had or owned it,
   * INVALID_INPUT for a day to come. Other keepers are named only where the viewer's own dealt with them over this animal.
   */
  async execute(viewer: Viewer, animalId: string, on: Day): Promise<NamedSight[]> {
    const view = (await this.animals.findVisible(viewer, [animalId])).get(animalId);
    if (view === undefined) throw notFound('animal');
    if (on > this.clock.today())
      throw invalidInput([
        { path: 'on', message: 'This day is still to come.', remedy: 'Ask about today or a day before.' },
      ]);
    const relations = await this.sharing.findRelations(view.id);
    const own = new Set(viewer.keepers.map(({ keeperId }) => keeperId));
    if (!mayAskAbout(relations, own, on))
      throw forbidden('Only who had or owned the animal on that day may ask who could see it then.');
    const sights = whoCouldSee(await this.sharing.readHistory(view.id, relations), on, own);
    const ids = [...new Set(sights.flatMap(({ keeperId, clubId }) => [keeperId, clubId].filter((id) => id !== null)))];
    const names = await this.sharing.findNames(viewer, view.id, ids);
    return sights.map((sight) => {
      const known = names.get(sight.keeperId ?? sight.clubId ?? '');
      return known?.known === true ? { ...sight, label: known.name } : { ...sight, keeperId: null, label: null };
    });
  }
}
