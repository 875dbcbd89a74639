import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { findAccess } from '../../access/index.js';
import { actsFor, decide, type Decision, invalidInput, type UncertainDay, type Viewer } from '../../kernel/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { type Tx, UnitOfWork } from '../../platform/prisma/index.js';
import { decideCorrection, decideRestoration, excludes } from '../core/correction.core.js';
import { bearsOnOrigin, decideBirth } from '../core/dependants.core.js';
import { decideFactDay } from '../core/fact-day.core.js';
import { type FactBody, inForce, type When } from '../core/fact.core.js';
import { requestOriginRecheck } from '../jobs/origin-recheck.job.js';
import { getForWrite } from '../store/animal-write.store.js';
import { type FactUnderCorrection, insertInPlaceOf, lockFact, takeBack } from '../store/fact-history.store.js';
import { readKin } from '../store/kin-of-fact.store.js';
import { findSexConflicts, sexDependents } from '../store/sex-dependents.store.js';
import { factInLedger, personalOfFact, toLedger } from './fact-ledger.js';
import { type RecordedFact } from './record-facts.js';

/** What a fact should say instead; what is left out (undefined) stays as it was. */
export type SupersedeFactCommand = {
  readonly factId: string;
  readonly reason: string;
  /** Null = the day is not known. */
  readonly when?: UncertainDay | null | undefined;
  /** Of the same kind as the fact. `path` names the field it was given in. */
  readonly says?: { readonly path: string; readonly fact: FactBody } | undefined;
};

/** A correction made: the fact that is now in force, null where it was taken back. */
export type CorrectedFact = Omit<RecordedFact, 'factId'> & { readonly factId: string | null };

const factCorrected = defineLedgerAction(
  'animal.fact-corrected',
  1,
  z.strictObject({
    animalId: z.uuid(),
    keeperId: z.uuid(),
    by: z.enum(['superseded', 'withdrawn', 'restored']),
    /** The fact corrected, taken back or brought back. */
    factId: z.uuid(),
    /** Facts that are no longer in force by this. */
    supersedes: z.array(z.uuid()),
    /** What is now said. */
    now: factInLedger.nullable(),
  }),
);

const outcome = z.object({ animalId: z.uuid(), factId: z.uuid().nullable(), recheck: sexDependents });

/** Corrects facts, takes them back and brings them back, each with a reason; nothing is edited, all of it stays in the history. */
@Injectable()
export class CorrectFact {
  constructor(private readonly uow: UnitOfWork) {}

  /**
   * Puts another statement of the same kind in the place of a fact in force. NOT_FOUND, FORBIDDEN, INVALID_INPUT, RECORD_MERGED,
   * FACT_NOT_IN_FORCE, FACT_CORRECTED_ELSEWHERE, DAY_IN_FUTURE, FACT_BEFORE_BIRTH, BIRTH_AGAINST_RECORDS.
   */
  async supersede(viewer: Viewer, command: SupersedeFactCommand): Promise<CorrectedFact> {
    return this.uow.write(viewer, { action: 'animal.supersede-fact', input: command, outcome }, async (tx) => {
      const found = await lockFact(tx, viewer, command.factId);
      const possible = decideCorrection(found.facts, found.fact);
      if (!possible.ok) return possible;
      const old = possible.value;
      const fact = command.says?.fact ?? old;
      if (fact.kind !== old.kind) {
        const path = `input.${command.says?.path ?? 'factId'}`;
        const remedy = `Give what belongs to a ${old.kind}, or take the fact back with \`withdrawFact\` and record another.`;
        throw invalidInput([{ path, message: `The fact to be corrected is a ${old.kind}.`, remedy }]);
      }
      const when = command.when === undefined ? old.when : command.when;
      return replace(tx, viewer, found, { fact, when, reason: command.reason, supersedes: [old.id], by: 'superseded' });
    });
  }

  /** Takes a fact in force back: it should never have been recorded. Refuses as `supersede` does. */
  async withdraw(viewer: Viewer, command: { factId: string; reason: string }): Promise<CorrectedFact> {
    return this.uow.write(viewer, { action: 'animal.withdraw-fact', input: command, outcome }, async (tx) => {
      const { animalId, fact, facts, keeperId } = await lockFact(tx, viewer, command.factId);
      const possible = decideCorrection(facts, fact);
      if (!possible.ok) return possible;
      await getForWrite(tx, animalId);
      await takeBack(tx, animalId, fact.id, command.reason);
      await tx.ledger.append(factCorrected, {
        subjects: [animalId],
        body: { animalId, keeperId, by: 'withdrawn', factId: fact.id, supersedes: [fact.id], now: null },
        personal: { reason: command.reason },
      });
      if (bearsOnOrigin(fact)) await requestOriginRecheck(tx, [animalId]);
      return decide({ animalId, factId: null, recheck: [] });
    });
  }

  /**
   * Brings back a fact that was corrected or taken back, as a new fact that says the same in the place of what followed it.
   * Refuses as `supersede` does, and with FACT_IN_FORCE.
   */
  async restore(viewer: Viewer, command: { factId: string; reason: string }): Promise<CorrectedFact> {
    return this.uow.write(viewer, { action: 'animal.restore-fact', input: command, outcome }, async (tx) => {
      const found = await lockFact(tx, viewer, command.factId);
      const possible = decideRestoration(found.facts, found.fact);
      if (!possible.ok) return possible;
      const { fact, supersedes } = possible.value;
      return replace(tx, viewer, found, {
        fact,
        when: fact.when,
        reason: command.reason,
        supersedes,
        by: 'restored',
        restoresId: fact.id,
      });
    });
  }
}

/** Writes a statement in the place of others, if it can have been so, and has what rests on it looked at again. */
async function replace(
  tx: Tx,
  viewer: Viewer,
  { animalId, fact: corrected, facts, keeperId }: FactUnderCorrection,
  next: {
    readonly fact: FactBody;
    readonly when: When | null;
    readonly reason: string;
    readonly supersedes: readonly string[];
    readonly by: 'superseded' | 'restored';
    readonly restoresId?: string;
  },
): Promise<Decision<z.infer<typeof outcome>>> {
  const { fact, when, reason, by } = next;
  const animal = await getForWrite(tx, animalId);
  const unborn = { earliest: null, latest: null };
  if (when !== null) {
    const inTime = decideFactDay(when, fact.kind === 'birth' ? unborn : animal.birth, tx.today);
    if (!inTime.ok) {
      const { message } = inTime.refusal;
      return {
        ok: false,
        refusal: { ...inTime.refusal, fields: [{ path: 'input.when', message, remedy: 'Correct the day.' }] },
      };
    }
  }
  if (fact.kind === 'birth' && when !== null) {
    const readable = facts.filter(
      (each) => each.kind !== 'note' || each.body.topic !== 'private' || actsFor(viewer, each.keeperId),
    );
    const kin = await readKin(tx.db, animalId);
    const seen = await findAccess(
      tx.db,
      viewer,
      kin.map(({ id }) => id),
    );
    const agrees = decideBirth(
      when,
      readable,
      kin.map((each) => ({ ...each, shown: seen.has(each.id) })),
    );
    if (!agrees.ok) return agrees;
  }
  // A trait that is corrected to another gene takes the place of what is said of that gene too.
  const rivals = inForce(facts, null)
    .filter((each) => excludes(each, fact))
    .map(({ id }) => id);
  const supersedes = [...new Set([...next.supersedes, ...rivals])];
  const { kind, body } = fact;
  const input = { fact: { kind, body } as FactBody, when, reason };
  const factId = await insertInPlaceOf(
    tx,
    animalId,
    keeperId,
    { ...input, ...(next.restoresId === undefined ? {} : { restoresId: next.restoresId }) },
    supersedes,
  );
  await tx.ledger.append(factCorrected, {
    subjects: [animalId],
    body: { animalId, keeperId, by, factId: corrected.id, supersedes, now: toLedger(factId, input.fact, when) },
    personal: personalOfFact(input.fact, reason),
  });
  if (bearsOnOrigin(fact)) await requestOriginRecheck(tx, [animalId]);
  const recheck = fact.kind === 'sex' ? await findSexConflicts(tx, viewer, animalId, fact.body.sex) : [];
  return decide({ animalId, factId, recheck });
}
