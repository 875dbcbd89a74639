import { type ExportStore } from '../store/export.store.js';
import { PACK_BOUNDS, type RecordPack } from './record-pack.schema.js';

type Claim = RecordPack['animals'][number]['parents'][number];

/** The animals of a pack and their ancestors, each under its ref, in the order in which they are met going back. */
export type PackAncestry = {
  readonly refs: ReadonlyMap<string, string>;
  readonly claims: ReadonlyMap<string, readonly Claim[]>;
  readonly complete: boolean;
};

/** In force at a moment; null = now. */
export function wasInForce(row: { recordedAt: Date; supersededAt: Date | null }, at: Date | null): boolean {
  if (at === null) return row.supersededAt === null;
  return row.recordedAt <= at && (row.supersededAt === null || row.supersededAt > at);
}

/** Walks back from the animals, a generation a statement, along the claims in force at `until` (null = now). */
export async function readAncestry(
  store: ExportStore,
  animalIds: readonly string[],
  until: Date | null,
): Promise<PackAncestry> {
  const refs = new Map(animalIds.map((id, i) => [id, `r${i + 1}`]));
  const claims = new Map<string, Claim[]>();
  let level = [...animalIds];
  let full = false;
  for (let generation = 0; generation <= PACK_BOUNDS.generations && level.length > 0; generation += 1) {
    const rows = (await store.findClaims(level)).filter((row) => wasInForce(row, until));
    const next: string[] = [];
    for (const childId of level) {
      const own = rows.filter((row) => row.childId === childId).toSorted((a, b) => (a.role < b.role ? -1 : 1));
      for (const { role, basis, withoutSire, edtf, candidates } of own) {
        const ordered = candidates.toSorted(
          (a, b) => b.probability - a.probability || (a.parentId < b.parentId ? -1 : 1),
        );
        const fits =
          ordered.every(({ parentId }) => refs.has(parentId)) || refs.size + ordered.length <= PACK_BOUNDS.ancestors;
        full ||= !fits;
        if (!fits) continue;
        for (const { parentId } of ordered) {
          if (refs.has(parentId)) continue;
          refs.set(parentId, `r${refs.size + 1}`);
          next.push(parentId);
        }
        const named = ordered.map(({ parentId, probability }) => ({ ref: refs.get(parentId) ?? '', probability }));
        claims.set(childId, [
          ...(claims.get(childId) ?? []),
          { role, basis, withoutSire, when: edtf, candidates: named },
        ]);
      }
    }
    level = next;
  }
  return { refs, claims, complete: !full && level.length === 0 };
}
