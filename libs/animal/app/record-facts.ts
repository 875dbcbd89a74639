import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import {
  decide,
  type Decision,
  DomainError,
  exactDay,
  type FieldProblem,
  type Refusal,
  type UncertainDay,
  type Viewer,
} from '../../kernel/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { type Tx, UnitOfWork } from '../../platform/prisma/index.js';
import { bearsOnOrigin } from '../core/dependants.core.js';
import { decideFactDay } from '../core/fact-day.core.js';
import { type FactBody } from '../core/fact.core.js';
import { requestOriginRecheck } from '../jobs/origin-recheck.job.js';
import { requireAuthority } from '../store/animal-authority.store.js';
import { getForWrite, lockAnimals, recordFact } from '../store/animal-write.store.js';
import { findSexConflicts, type SexDependent, sexDependents } from '../store/sex-dependents.store.js';
import { factInLedger, personalOfFact, RECORDED_KINDS, toLedger } from './fact-ledger.js';

/** One fact to be recorded. */
export type RecordFactCommand = {
  readonly animalId: string;
  readonly fact: Extract<FactBody, { kind: (typeof RECORDED_KINDS)[number] }>;
  /** Today when null. */
  readonly when: UncertainDay | null;
  readonly reason: string | undefined;
};

/** A fact that was recorded. */
export type RecordedFact = {
  readonly animalId: string;
  readonly factId: string;
  /** What a changed sex contradicts. */
  readonly recheck: readonly SexDependent[];
};

/** Most facts in one call: a long day's weighing of a room. */
export const MAX_FACTS = 100;

const factsRecorded = defineLedgerAction(
  'animal.facts-recorded',
  1,
  z.strictObject({ animalId: z.uuid(), keeperId: z.uuid(), facts: z.array(factInLedger).min(1) }),
);

const outcome = z.object({
  facts: z.array(z.object({ animalId: z.uuid(), factId: z.uuid(), recheck: sexDependents })),
});

/** Records facts about animals that a keeper of the viewer has or owns: all of them, or none. */
@Injectable()
export class RecordFacts {
  constructor(private readonly uow: UnitOfWork) {}

  /** One fact; gives its id. NOT_FOUND, FORBIDDEN, DAY_IN_FUTURE, FACT_BEFORE_BIRTH, RECORD_MERGED. */
  async one(viewer: Viewer, command: RecordFactCommand): Promise<RecordedFact> {
    const write = { action: 'animal.record-fact', input: command, outcome };
    const { facts } = await this.uow.write(viewer, write, async (tx) => record(tx, viewer, [command], () => 'input'));
    const [recorded] = facts;
    if (recorded === undefined) throw new Error('Nothing was recorded.');
    return recorded;
  }

  /**
   * Up to `MAX_FACTS` facts in one transaction; gives their ids in the order given. Refuses as `one` does, and names every fact
   * that stands in the way by its place (`input.facts.3.when`).
   */
  async many(viewer: Viewer, commands: readonly RecordFactCommand[]): Promise<readonly RecordedFact[]> {
    const write = { action: 'animal.record-facts', input: commands, outcome };
    const { facts } = await this.uow.write(viewer, write, async (tx) =>
      record(tx, viewer, commands, (i) => `input.facts.${i}`),
    );
    return facts;
  }
}

/**
 * Checks all, then writes all. The ledger gets one entry an animal, not one for the call: an entry is shown to whoever checks
 * that animal's history, who need not learn which other animals were on the scales that day.
 */
async function record(
  tx: Tx,
  viewer: Viewer,
  commands: readonly RecordFactCommand[],
  pathOf: (index: number) => string,
): Promise<Decision<z.infer<typeof outcome>>> {
  const animalIds = [...new Set(commands.map(({ animalId }) => animalId))];
  await lockAnimals(tx, animalIds);
  const keepers = new Map<string, string>();
  const births = new Map<string, Awaited<ReturnType<typeof getForWrite>>['birth']>();
  for (const animalId of animalIds) {
    const path = `${pathOf(commands.findIndex((command) => command.animalId === animalId))}.animalId`;
    await naming(path, async () => {
      keepers.set(animalId, (await requireAuthority(tx, viewer, animalId)).keeperId);
      births.set(animalId, (await getForWrite(tx, animalId)).birth);
    });
  }
  const refusals = commands.flatMap(({ animalId, when }, i): Refusal[] => {
    const birth = births.get(animalId) ?? { earliest: null, latest: null };
    const possible = decideFactDay(when ?? exactDay(tx.today), birth, tx.today);
    if (possible.ok) return [];
    const { message } = possible.refusal;
    const field: FieldProblem = { path: `${pathOf(i)}.when`, message, remedy: 'Correct the day.' };
    return [{ ...possible.refusal, fields: [field] }];
  });
  const [first] = refusals;
  if (first !== undefined)
    return { ok: false, refusal: { ...first, fields: refusals.flatMap(({ fields }) => fields ?? []) } };

  const facts: (z.infer<typeof outcome>['facts'][number] & { readonly index: number; readonly when: UncertainDay })[] =
    [];
  for (const [index, { animalId, fact, when: said, reason }] of commands.entries()) {
    const when = said ?? exactDay(tx.today);
    const keeperId = keepers.get(animalId) ?? '';
    const factId = await recordFact(tx, animalId, keeperId, {
      fact,
      when,
      ...(reason === undefined ? {} : { reason }),
    });
    const recheck = fact.kind === 'sex' ? await findSexConflicts(tx, viewer, animalId, fact.body.sex) : [];
    facts.push({ animalId, factId, recheck, index, when });
  }
  for (const animalId of animalIds) {
    const own = facts.filter((each) => each.animalId === animalId);
    const said = own.map(({ index }) => commands[index]).filter((command) => command !== undefined);
    await tx.ledger.append(factsRecorded, {
      subjects: [animalId],
      body: {
        animalId,
        keeperId: keepers.get(animalId) ?? '',
        facts: own.map(({ factId, when }, i) => toLedger(factId, said[i]?.fact, when)),
      },
      personal: Object.fromEntries(
        said.flatMap(({ fact, reason }, i) =>
          Object.entries(personalOfFact(fact, reason)).map(([key, text]) => [`facts.${i}.${key}`, text]),
        ),
      ),
    });
  }
  const weighed = commands.filter(({ fact }) => bearsOnOrigin(fact)).map(({ animalId }) => animalId);
  await requestOriginRecheck(tx, weighed);
  return decide({ facts: facts.map(({ animalId, factId, recheck }) => ({ animalId, factId, recheck })) });
}

/** Runs a check, and has what it throws name the field it is about. */
async function naming(path: string, check: () => Promise<void>): Promise<void> {
  try {
    await check();
  } catch (error) {
    if (!(error instanceof DomainError)) throw error;
    const { code, message, rule, blockers } = error;
    const fields = [{ path, message, remedy: 'Choose another animal, or leave this fact out.' }];
    throw new DomainError(code, message, { ...(rule === undefined ? {} : { rule }), fields, blockers });
  }
}
