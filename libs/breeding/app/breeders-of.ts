import { dayOf } from '../../kernel/index.js';
import { type BreedingBounds } from '../core/bounds.core.js';
import { type Breeder, type BreedingDam, decideBreeders } from '../core/breeders.core.js';
import { layingSpan } from '../core/clutch.core.js';
import { sireWindow } from '../core/parent-candidates.core.js';
import { atMoment, type StoredClutch } from '../store/breeding-read.store.js';
import { type DamRecords } from '../store/breeders.store.js';

/** Who bred the young of a clutch by what was recorded at a moment (null = now), see `decideBreeders`. */
export function breedersOf(
  clutch: Pick<StoredClutch, 'dams' | 'laid' | 'foundOn' | 'firstRecordedAt'>,
  dams: ReadonlyMap<string, DamRecords>,
  bounds: BreedingBounds,
  at: Date | null,
): Breeder[] {
  const recordedOn = dayOf(clutch.firstRecordedAt);
  const { earliest, latest } = layingSpan(clutch.laid, clutch.foundOn, recordedOn);
  const laid = { earliest, latest: latest ?? recordedOn };
  return decideBreeders({
    dams: clutch.dams.flatMap(({ id }) => {
      const records = dams.get(id);
      return records === undefined ? [] : [knownThen(id, records, at)];
    }),
    laid,
    window: sireWindow({ laid, today: recordedOn, bounds }),
  });
}

/** The dam as she was on record then: with the records merged into hers, each up to the day of the merge. */
function knownThen(id: string, records: DamRecords, at: Date | null): BreedingDam {
  const merges = atMoment(records.merges, at);
  const kept = merges.find(({ mergedId }) => mergedId === id)?.keepId ?? id;
  const mergedOn = new Map(
    merges.filter(({ keepId }) => keepId === kept).map((each) => [each.mergedId, dayOf(each.recordedAt)]),
  );
  const own = <T extends { readonly animalId: string }>(row: T): boolean =>
    row.animalId === kept || mergedOn.has(row.animalId);
  // Whose a merged record was goes no further than the merge: from then on the one kept says it.
  const owned = atMoment(records.owned, at)
    .filter(own)
    .map((period) => {
      const end = mergedOn.get(period.animalId) ?? null;
      return { ...period, to: end !== null && (period.to === null || end < period.to) ? end : period.to };
    });
  return {
    id,
    bornFrom: records.bornFrom,
    owned: owned.filter(({ from, to }) => to === null || from < to),
    agreed: atMoment(records.agreed, at).filter(own),
    matings: atMoment(records.matings, at).filter(({ damId }) => damId === kept || mergedOn.has(damId)),
  };
}
