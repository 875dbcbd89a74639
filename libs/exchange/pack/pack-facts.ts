import { type FactVersion, type Mark, type StoredSession } from '../../animal/index.js';
import { type PackAnimal } from './record-pack.schema.js';
import { isKnown, supersession, type Until } from './pack-moment.js';

type PackFact = PackAnimal['facts'][number];
type PackMark = PackAnimal['marks'][number];

/** Every version of the facts of one animal that was known then. Private notes go nowhere, and nobody who said something is named. */
export function packFacts(versions: readonly FactVersion[], until: Until): PackFact[] {
  const shown = versions.filter(
    (fact) => isKnown(fact, until) && !(fact.kind === 'note' && fact.body.topic === 'private'),
  );
  const numbers = new Map(shown.map((fact, i) => [fact.id, i + 1]));
  return shown.map((fact, i) => {
    const over = supersession(fact, until);
    const body = Object.entries(fact.body).filter(([key]) => key !== 'statedBy' && key !== 'foundBy');
    return {
      kind: fact.kind,
      no: i + 1,
      when: fact.when,
      recordedAt: fact.recordedAt.toISOString(),
      superseded: over === null ? null : { ...over, by: numbers.get(fact.supersededBy ?? '') ?? null },
      body: Object.fromEntries(body),
    } as PackFact;
  });
}

/** Every version of the marks of one animal that was known then. `pictureOf` gives the hash of a file the reader may see. */
export function packMarks(
  versions: readonly Mark[],
  sessions: ReadonlyMap<string, readonly StoredSession[]>,
  pictureOf: (fileId: string) => string | undefined,
  until: Until,
): PackMark[] {
  const shown = versions.filter((mark) => isKnown(mark, until));
  const series = [...new Set(shown.map((mark) => mark.id))];
  return shown.map((mark): PackMark => {
    const over = supersession(mark, until);
    const taken = over === null ? (sessions.get(mark.id) ?? []).filter((session) => isKnown(session, until)) : [];
    const dayOf = new Map(taken.map((session) => [session.id, session.takenOn]));
    const { kind, value, size, fixedView, withScale, intervalDays, when, ended } = mark;
    return {
      series: series.indexOf(mark.id) + 1,
      ...{ kind, value, size, fixedView, withScale, intervalDays, when },
      until: ended?.when ?? null,
      endCause: ended?.cause ?? null,
      recordedAt: mark.recordedAt.toISOString(),
      superseded: over,
      sessions: taken.map((session) => ({
        takenOn: session.takenOn,
        pictures: session.fileIds.flatMap((id) => pictureOf(id) ?? []),
        comparisons: session.comparisons
          .filter((each) => isKnown(each, until))
          .flatMap(({ earlierSessionId, verdict }) => {
            const earlierOn = dayOf.get(earlierSessionId);
            return earlierOn === undefined ? [] : [{ earlierOn, verdict }];
          }),
        recordedAt: session.recordedAt.toISOString(),
      })),
    };
  });
}
