import { type Viewer } from '../../kernel/index.js';
import { marksInForce, type Warning } from '../core/mark.core.js';
import { type AnimalReadStore } from '../store/animal-read.store.js';
import { type MarkReadStore } from '../store/mark-read.store.js';
import { type AnimalType, toAnimalType, type WarningType } from './animal.types.js';
import { type MarkType, toMarkType } from './mark.types.js';

/** Of each conflict of an animal's chips what its keeper should know. */
export function conflictWarnings(conflicts: readonly { value: string; sharedCode: boolean }[]): Warning[] {
  return conflicts.map(({ value, sharedCode }) => ({
    code: sharedCode ? 'MARK_CONFLICT_SHARED_CODE' : 'MARK_CONFLICT',
    message: sharedCode
      ? `Another living animal has a record with the number ${value}. Several makers share code 900, so it may be right on both: keep a second mark or a photo.`
      : `Another living animal has a record with the number ${value}. Read the chip again; it may also be the same animal, registered twice. Both keepers are told, nobody is named, and nothing is blocked.`,
  }));
}

/** What a mutation about a mark answers; null where the animal is no longer the viewer's to see. */
export async function showMark(
  animals: AnimalReadStore,
  marks: MarkReadStore,
  viewer: Viewer,
  done: { readonly animalId: string; readonly markId: string },
  warnings: readonly Warning[],
): Promise<{ animal: AnimalType; mark: MarkType | null; warnings: WarningType[] } | null> {
  const { animalId, markId } = done;
  const view = (await animals.findVisible(viewer, [animalId])).get(animalId);
  if (view === undefined) return null;
  const all = (await animals.findMarks([animalId])).get(animalId) ?? [];
  const mark = marksInForce(all, null).find((each) => each.id === markId);
  const conflicts = view.level === 'full' ? ((await marks.findConflicts([animalId])).get(animalId) ?? []) : [];
  return {
    animal: toAnimalType(view),
    mark: mark === undefined ? null : toMarkType(mark, view.readsUntil),
    warnings: [...warnings, ...conflictWarnings(conflicts)],
  };
}
