import { v7 as uuid } from 'uuid';
import { type Day, decide, type Decision, exactDay } from '../../kernel/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { type Certainty, type When } from '../core/fact.core.js';
import { decideLoss, decideSplit } from '../core/lot.core.js';
import { applyProjection, freeRegisterNumber, getForWrite, insertLotChange, recordFact } from './animal-write.store.js';

/** Kinds of facts a lot hands on to what is split from it or raised out of it. */
const INHERITED = ['birth', 'origin', 'acquisition'];

/**
 * Takes `count` animals out of a locked lot into a new record with a register number of its own, which repeats taxon,
 * line, birth and origin. Refuses when nothing would stay behind. Parentage, custody, ownership and access follow in
 * `splitLot` of libs/custody, which is what use cases call.
 */
export async function splitLotRecord(
  tx: Tx,
  split: { lotId: string; count: number; on: Day; keeperId: string },
): Promise<Decision<{ id: string }>> {
  const lot = await getForWrite(tx, split.lotId);
  const decision = decideSplit(lot, split.count);
  if (!decision.ok) return decision;
  const id = uuid();
  await tx.db.animal.create({
    data: {
      id,
      registerNumber: await freeRegisterNumber(tx),
      kind: 'lot',
      taxonId: lot.taxonId,
      lineId: lot.lineId,
      registeredAt: tx.now,
      registeredBy: split.keeperId,
      count: split.count,
      countEstimated: false,
      declaredFounder: lot.declaredFounder,
    },
  });
  await inheritFacts(tx, lot.id, [id]);
  await insertLotChange(tx, {
    lotId: lot.id,
    cause: 'split_out',
    delta: -split.count,
    on: split.on,
    counterpartId: id,
    keeperId: split.keeperId,
  });
  await insertLotChange(tx, {
    lotId: id,
    cause: 'split_in',
    delta: split.count,
    on: split.on,
    counterpartId: lot.id,
    keeperId: split.keeperId,
  });
  await moveCount(tx, lot.id, decision.value.left);
  await applyProjection(tx, id);
  return decide({ id });
}

/** Takes `count` dead animals out of a locked lot and says how many are left; a lot of which none is left is dead. */
export async function loseFromLotRecord(
  tx: Tx,
  loss: { lotId: string; count: number; on: Day; keeperId: string },
): Promise<Decision<{ left: number }>> {
  const decision = decideLoss(await getForWrite(tx, loss.lotId), loss.count);
  if (!decision.ok) return decision;
  await insertLotChange(tx, {
    lotId: loss.lotId,
    cause: 'died',
    delta: -loss.count,
    on: loss.on,
    keeperId: loss.keeperId,
  });
  await moveCount(tx, loss.lotId, decision.value.left);
  if (decision.value.left === 0)
    await recordFact(tx, loss.lotId, loss.keeperId, {
      fact: { kind: 'fate', body: { fate: 'dead' } },
      when: exactDay(loss.on),
    });
  return decision;
}

/** Records the death of a locked individual: its fate, and nobody left to count. `when` where the day is not certain. */
export async function recordDeathFact(
  tx: Tx,
  death: {
    animalId: string;
    on: Day;
    keeperId: string;
    when?: When | undefined;
    cause?: string | undefined;
    certainty?: Certainty | undefined;
  },
): Promise<void> {
  const { cause, certainty } = death;
  const body = {
    fate: 'dead' as const,
    ...(cause === undefined ? {} : { cause }),
    ...(certainty === undefined ? {} : { certainty }),
  };
  const when = death.when ?? exactDay(death.on);
  await recordFact(tx, death.animalId, death.keeperId, { fact: { kind: 'fate', body }, when });
  await tx.db.animal.update({ where: { id: death.animalId }, data: { count: 0 } });
}

/** Repeats what a lot hands on for records that came out of it. Bring their columns up to date afterwards. */
export async function inheritFacts(tx: Tx, lotId: string, toIds: readonly string[]): Promise<void> {
  const inherited = await tx.db.animalFact.findMany({
    where: { animalId: lotId, kind: { in: INHERITED }, supersededAt: null },
  });
  await tx.db.animalFact.createMany({
    data: toIds.flatMap((animalId) =>
      inherited.map((fact) => ({
        id: uuid(),
        animalId,
        kind: fact.kind,
        body: fact.body as object,
        edtf: fact.edtf,
        earliest: fact.earliest,
        latest: fact.latest,
        recordedAt: tx.now,
        recordedBy: fact.recordedBy,
        keeperId: fact.keeperId,
      })),
    ),
  });
}

/** Sets the count of a locked lot, whose changes the caller writes: a constraint compares both at commit. */
export async function moveCount(tx: Tx, lotId: string, count: number): Promise<void> {
  await tx.db.animal.update({ where: { id: lotId }, data: { count, version: { increment: 1 } } });
}
