import { Injectable } from '@nestjs/common';
import { AnimalReadStore, type AnimalView, type Fact, inForce, MarkReadStore } from '../../animal/index.js';
import { type BookAnimal } from '../../custody/index.js';
import { formatRegisterNumber, type RegisterNumber, type Viewer } from '../../kernel/index.js';
import { groupRows, TaxonStore } from '../../taxon/index.js';
import { type ExportDocument } from '../document/export-document.schema.js';
import { ExportStore } from '../store/export.store.js';
import { exportMarks } from './export-marks.js';

type Correction = {
  readonly keeperId: string;
  readonly supersededBy: string | null;
  readonly reason: string | null;
  readonly restoresId: string | null;
};
type ExportedAnimal = ExportDocument['animals'][number];

/** The animals of an export, each at the level at which its keeper reads it. */
@Injectable()
export class ExportAnimals {
  constructor(
    private readonly animals: AnimalReadStore,
    private readonly marks: MarkReadStore,
    private readonly taxa: TaxonStore,
    private readonly store: ExportStore,
  ) {}

  /**
   * Everything the keeper has, owns, had or owned, in the order of registration, in a number of statements that does not
   * grow with it. `viewer` acts for this keeper alone; `accountIds` are the accounts of its people.
   */
  async read(
    viewer: Viewer,
    keeperId: string,
    book: readonly BookAnimal[],
    accountIds: readonly string[],
  ): Promise<ExportedAnimal[]> {
    const ids = await this.store.findAnimalIds(keeperId);
    const views = await this.animals.findVisible(viewer, ids);
    const shown = ids
      .flatMap((id) => views.get(id) ?? [])
      .filter((view) => view.level === 'full' || view.level === 'past');
    const shownIds = shown.map((view) => view.id);
    const claims = await this.store.findClaims(shownIds);
    const parentIds = claims.flatMap((claim) => claim.candidates.map(({ parentId }) => parentId));
    const merges = await this.store.findMerges(shownIds);
    const others = [...parentIds, ...merges.flatMap(({ keepId, mergedId }) => [keepId, mergedId])];
    const parents = await this.animals.findVisible(viewer, [...new Set(others)]);
    const marks = await this.animals.findMarks(shownIds);
    const corrections = await this.store.findFactCorrections(shownIds);
    const rows = {
      files: groupRows(await this.store.findFiles(keeperId, shownIds), (file) => file.animalId),
      facts: await this.animals.findFacts(shownIds),
      marks,
      sessions: await this.marks.findSessions([...marks.values()].flat().map((mark) => mark.id)),
      taxa: await this.taxa.findMany(shown.map((view) => view.taxonId)),
      lines: await this.taxa.findLines(shown.flatMap((view) => view.lineId ?? [])),
      claims: groupRows(claims, (claim) => claim.childId),
      periods: new Map(book.map((animal) => [animal.animalId, animal.periods])),
      ownership: groupRows(await this.store.findOwnership(keeperId), (row) => row.animalId),
      changes: groupRows(
        await this.store.findLotChanges(shown.filter((view) => view.kind === 'lot').map((view) => view.id)),
        (row) => row.lotId,
      ),
    };
    const people = new Set([keeperId, ...accountIds]);
    return shown.map((view): ExportedAnimal => {
      const { id, readsUntil, record } = view;
      const until = (at: Date): boolean => readsUntil === null || at <= readsUntil;
      return {
        registerNumber: formatRegisterNumber(view.registerNumber as RegisterNumber),
        kind: view.kind,
        level: view.level === 'full' ? 'full' : 'past',
        readsUntil: readsUntil?.toISOString() ?? null,
        scientificName: rows.taxa.get(view.taxonId)?.scientificName ?? '',
        line: view.lineId === null ? null : (rows.lines.get(view.lineId)?.name ?? null),
        name: record?.name ?? null,
        sex: view.sex,
        birth: record?.birth ?? null,
        originClass: view.originClass,
        fate: record?.fate ?? 'alive',
        fateEdtf: record?.fateEdtf ?? null,
        count: record?.count ?? 0,
        countEstimated: record?.countEstimated ?? false,
        lastSeenOn: record?.lastSeenOn ?? null,
        facts: exportFacts(rows.facts.get(id) ?? [], corrections, view, keeperId),
        marks: exportMarks(rows.marks.get(id) ?? [], readsUntil, rows.sessions),
        files: (rows.files.get(id) ?? []).map(({ animalId: _, ...file }) => file),
        parentage: (rows.claims.get(id) ?? [])
          .filter((claim) => wasInForce(claim, readsUntil))
          .map(({ role, basis, withoutSire, edtf, evidence, recordedAt, candidates }) => ({
            role,
            basis,
            withoutSire,
            edtf,
            evidence,
            recordedAt: recordedAt.toISOString(),
            candidates: candidates.map(({ parentId, probability }) => ({
              registerNumber: numberOf(parents.get(parentId)),
              probability,
            })),
          })),
        declaredFounder: view.declaredFounder,
        merges: merges
          .filter((merge) => (merge.keepId === id || merge.mergedId === id) && until(merge.recordedAt))
          .map((merge) => {
            const undone = merge.supersededAt !== null && until(merge.supersededAt);
            return {
              as: merge.keepId === id ? 'kept' : 'merged',
              other: numberOf(parents.get(merge.keepId === id ? merge.mergedId : merge.keepId)),
              because: merge.because,
              recordedAt: merge.recordedAt.toISOString(),
              undoneAt: undone ? (merge.supersededAt?.toISOString() ?? null) : null,
              undoneBecause: undone ? merge.reason : null,
            };
          }),
        custody: (rows.periods.get(id) ?? [])
          .filter((period) => period.mine)
          .map(({ from, to, arrivedBy, leftBy, cameFrom, wentTo }) => ({
            from,
            to,
            arrivedBy,
            leftBy,
            cameFrom,
            wentTo,
          })),
        ownership: (rows.ownership.get(id) ?? []).map(({ from, to, state, parts, of }) => ({
          from,
          to,
          state,
          parts,
          of,
        })),
        countChanges: (rows.changes.get(id) ?? [])
          .filter((change) => wasInForce(change, readsUntil))
          .map(({ cause, delta, estimated, on, recordedAt, recordedBy, reason }) => ({
            cause,
            delta,
            estimated,
            on,
            recordedAt: recordedAt.toISOString(),
            reason: people.has(recordedBy) ? reason : null,
          })),
      };
    });
  }
}

/** The register number of an animal in the form for print, or null for one the viewer may not see. */
export function numberOf(view: AnimalView | undefined): string | null {
  return view === undefined ? null : formatRegisterNumber(view.registerNumber as RegisterNumber);
}

/**
 * What the keeper reads of the facts, and of its own also what was corrected since. Private notes of others never; of what
 * happened after the animal left, nothing, not even that a fact was corrected.
 */
function exportFacts(
  facts: readonly Fact[],
  corrections: ReadonlyMap<string, Correction>,
  { readsUntil }: AnimalView,
  keeperId: string,
): ExportedAnimal['facts'] {
  const known = new Set(inForce(facts, readsUntil));
  const own = (fact: Fact): boolean => fact.keeperId === keeperId;
  const until = (at: Date): boolean => readsUntil === null || at <= readsUntil;
  // The words of a correction are those of the keeper whose statement took the fact's place, or who took it back.
  const correctionOf = (fact: Fact) => {
    const { supersededBy = null, reason = null, restoresId = null } = corrections.get(fact.id) ?? {};
    const by = supersededBy === null ? fact.keeperId : corrections.get(supersededBy)?.keeperId;
    const told = by === keeperId && fact.supersededAt !== null && until(fact.supersededAt);
    return { reason: told ? reason : null, restores: restoresId };
  };
  return facts
    .filter((fact) => known.has(fact) || (own(fact) && until(fact.recordedAt)))
    .filter((fact) => own(fact) || fact.kind !== 'note' || fact.body.topic !== 'private')
    .map((fact) => ({
      id: fact.id,
      kind: fact.kind,
      body: { ...fact.body },
      when: fact.when,
      recordedAt: fact.recordedAt.toISOString(),
      supersededAt: fact.supersededAt !== null && until(fact.supersededAt) ? fact.supersededAt.toISOString() : null,
      ...correctionOf(fact),
      own: own(fact),
    }));
}

function wasInForce(row: { recordedAt: Date; supersededAt: Date | null }, at: Date | null): boolean {
  if (at === null) return row.supersededAt === null;
  return row.recordedAt <= at && (row.supersededAt === null || row.supersededAt > at);
}
