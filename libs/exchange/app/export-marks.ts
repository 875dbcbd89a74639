import { type Mark, marksInForce, type StoredSession } from '../../animal/index.js';
import { type ExportDocument } from '../document/export-document.schema.js';

type ExportedMark = ExportDocument['animals'][number]['marks'][number];

/** The marks of an animal in force at a moment (null = now), ended ones too, with the sessions of photo documentations. */
export function exportMarks(
  marks: readonly Mark[],
  until: Date | null,
  sessions: ReadonlyMap<string, readonly StoredSession[]>,
): ExportedMark[] {
  const shown = (at: Date): boolean => until === null || at <= until;
  return marksInForce(marks, until).map((mark) => ({
    kind: mark.kind,
    value: mark.value,
    size: mark.size,
    edtf: mark.when?.edtf ?? null,
    until: mark.ended?.when.edtf ?? null,
    endCause: mark.ended?.cause ?? null,
    fixedView: mark.fixedView,
    withScale: mark.withScale,
    intervalDays: mark.intervalDays,
    recordedAt: mark.recordedAt.toISOString(),
    photoSessions: (sessions.get(mark.id) ?? [])
      .filter(({ recordedAt }) => shown(recordedAt))
      .map(({ takenOn, comparisons }) => ({
        takenOn,
        verdicts: comparisons.filter(({ recordedAt }) => shown(recordedAt)).map(({ verdict }) => verdict),
      })),
  }));
}
