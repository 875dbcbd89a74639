import { type Certainty, type FactBodyOf, parseFactBody, recordFact, type When } from '../../animal/index.js';
import { fromDateColumnOrNull } from '../../access/index.js';
import { type Tx } from '../../platform/prisma/index.js';

/** A fate as it stands after a correction. */
type Fate = { readonly body: FactBodyOf<'fate'>; readonly when: When | null };

/** Restores the fate that the death in force took the place of, or alive where nothing was said. Custody is the caller's. */
export async function takeDeathBack(tx: Tx, animalId: string, keeperId: string, reason: string): Promise<Fate> {
  const death = await tx.db.animalFact.findFirst({
    where: { animalId, kind: 'fate', supersededAt: null },
    select: { id: true },
  });
  let fate: Fate = { body: { fate: 'dead' }, when: null };
  // A death that was corrected stands in several versions: what was said before the first of them holds again.
  for (let id = death?.id; fate.body.fate === 'dead';) {
    const before =
      id === undefined ? null : await tx.db.animalFact.findFirst({ where: { animalId, supersededBy: id } });
    fate = before === null ? { body: { fate: 'alive' }, when: null } : toFate(before);
    id = before?.id;
  }
  await recordFact(tx, animalId, keeperId, { fact: { kind: 'fate', body: fate.body }, when: fate.when, reason });
  await tx.db.animal.update({ where: { id: animalId }, data: { count: 1 } });
  return fate;
}

/** Puts day, cause and certainty of the death in force right; what is not given stays. Custody is the caller's. */
export async function reviseDeath(
  tx: Tx,
  animalId: string,
  keeperId: string,
  change: {
    readonly reason: string;
    readonly when?: When | undefined;
    readonly cause?: string | null | undefined;
    readonly certainty?: Certainty | null | undefined;
  },
  today: When,
): Promise<Fate> {
  const row = await tx.db.animalFact.findFirst({ where: { animalId, kind: 'fate', supersededAt: null } });
  const death = row === null ? { body: { fate: 'dead' as const }, when: today } : toFate(row);
  const cause = change.cause === undefined ? death.body.cause : (change.cause ?? undefined);
  const certainty = change.certainty === undefined ? death.body.certainty : (change.certainty ?? undefined);
  const body: FactBodyOf<'fate'> = {
    fate: 'dead',
    ...(cause === undefined ? {} : { cause }),
    ...(certainty === undefined ? {} : { certainty }),
  };
  const when = change.when ?? death.when;
  await recordFact(tx, animalId, keeperId, { fact: { kind: 'fate', body }, when, reason: change.reason });
  return { body, when };
}

function toFate(row: {
  kind: string;
  body: unknown;
  edtf: string | null;
  earliest: Date | null;
  latest: Date | null;
}): Fate {
  const fact = parseFactBody(row.kind, row.body);
  if (fact.kind !== 'fate') throw new RangeError(`Not a fate: ${fact.kind}`);
  const { edtf } = row;
  return {
    body: fact.body,
    when:
      edtf === null
        ? null
        : { edtf, earliest: fromDateColumnOrNull(row.earliest), latest: fromDateColumnOrNull(row.latest) },
  };
}
