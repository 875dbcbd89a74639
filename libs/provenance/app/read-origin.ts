import { Injectable } from '@nestjs/common';
import { AnimalReadStore, type AnimalView } from '../../animal/index.js';
import { notFound, type Viewer } from '../../kernel/index.js';
import { Database } from '../../platform/prisma/index.js';
import { originFinding, type OriginFinding } from '../core/origin-finding.core.js';
import { suggestSourceCode, type SourceFacts, type SourceSuggestion } from '../core/source-code.core.js';
import { readOriginRecords } from '../store/origin-record.store.js';

/** A finding as a viewer reads it, with the permit source code it suggests for a purpose. */
export type ShownFinding = {
  readonly view: AnimalView;
  readonly finding: OriginFinding;
  readonly suggestion: SourceSuggestion;
};

/** Reads what the records say of an animal's origin. */
@Injectable()
export class ReadOrigin {
  constructor(
    private readonly animals: AnimalReadStore,
    private readonly database: Database,
  ) {}

  /**
   * NOT_FOUND unless the animal's record is shown to the viewer; whoever sees only its lineage reads the claim there. A past
   * holder reads the finding as of the day the animal left. Records the viewer may not see are weighed all the same: words
   * give their days and kinds, never a name, a number or a place, and their facts are left out of the lists.
   */
  async of(viewer: Viewer, animalId: string, purpose: SourceFacts['purpose']): Promise<ShownFinding> {
    const view = (await this.animals.findVisible(viewer, [animalId])).get(animalId);
    if (view === undefined || view.record === null) throw notFound('animal');
    const { subjects, factOwners } = await readOriginRecords(this.database.client, [animalId], view.readsUntil);
    const [subject] = subjects;
    if (subject === undefined) throw notFound('animal');
    const finding = originFinding(subject.record, subject.profile);
    const used = [...new Set(finding.items.flatMap((item) => item.factIds))];
    const owners = new Set(used.flatMap((id) => factOwners.get(id) ?? []));
    const visible = await this.animals.findVisible(viewer, [...owners]);
    const papers = new Set(subject.record.papers.map((paper) => paper.factId));
    const isShown = (factId: string): boolean => {
      const owner = visible.get(factOwners.get(factId) ?? '');
      // A paper is read by those who have or own the animal; it does not go along with its record.
      return owner !== undefined && owner.record !== null && (owner.level === 'full' || !papers.has(factId));
    };
    return {
      view,
      finding: {
        ...finding,
        items: finding.items.map((item) => ({ ...item, factIds: item.factIds.filter(isShown) })),
      },
      suggestion: suggestSourceCode({
        ...finding.source,
        preConvention: false,
        secondGenerationReliable: false,
        registeredOperation: false,
        appendix: subject.profile.appendix?.value ?? null,
        purpose,
      }),
    };
  }
}
