import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import {
  BIRTH_MANNERS,
  type BirthManner,
  type FactInput,
  MARK_KINDS,
  type NewAnimal,
  ORIGIN_CLASSES,
  type OriginClass,
  requestOriginRecheck,
  requireChipTries,
  type Sex,
  SEXES,
} from '../../animal/index.js';
import {
  actsFor,
  type Day,
  decide,
  type Decision,
  invalidInput,
  isOnOrBefore,
  notFound,
  refuse,
  type UncertainDay,
  type Viewer,
} from '../../kernel/index.js';
import {
  type ClaimWarning,
  claimWarning,
  decideStatement,
  decideTwoParents,
  PARENTAGE_BASES,
  type ParentStatement,
} from '../../lineage/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { type Tx, UnitOfWork } from '../../platform/prisma/index.js';
import { findTaxonAndLine } from '../../taxon/index.js';
import { registerStock } from '../store/stock-write.store.js';

export type RegisterStockCommand = {
  readonly kind: 'individual' | 'lot';
  readonly keeperId: string;
  readonly taxonId: string;
  readonly lineId: string | null;
  readonly name: string | null;
  readonly sex: Sex | null;
  readonly birth: { readonly when: UncertainDay; readonly manner: BirthManner } | null;
  readonly originClass: OriginClass | null;
  readonly marks: NewAnimal['marks'];
  /** At most one statement a role; none = not known. */
  readonly parents: readonly ParentStatement[];
  /** Declared to have no ancestors in the registry to look for; implied by a wild origin without parents. */
  readonly founder: boolean;
  /** 1 for an individual. */
  readonly count: number;
  readonly countEstimated: boolean;
  /** The day from which the keeper has it; today when null. */
  readonly since: Day | null;
  readonly arrivedBy: 'registered' | 'born';
};

const registered = defineLedgerAction(
  'animal.registered',
  2,
  z.strictObject({
    animalId: z.uuid(),
    registerNumber: z.string(),
    keeperId: z.uuid(),
    kind: z.enum(['individual', 'lot']),
    taxonId: z.uuid(),
    lineId: z.uuid().nullable(),
    sex: z.enum(SEXES),
    birthEarliest: z.string().nullable(),
    birthLatest: z.string().nullable(),
    birthManner: z.enum(BIRTH_MANNERS),
    originClass: z.enum(ORIGIN_CLASSES),
    markKinds: z.array(z.enum(MARK_KINDS)),
    parents: z.array(
      z.strictObject({
        role: z.enum(['sire', 'dam']),
        basis: z.enum(PARENTAGE_BASES),
        withoutSire: z.boolean(),
        candidates: z.array(z.strictObject({ parentId: z.uuid(), probability: z.number() })),
      }),
    ),
    founder: z.boolean(),
    count: z.int(),
    countEstimated: z.boolean(),
    since: z.string(),
    arrivedBy: z.enum(['registered', 'born']),
  }),
);

const outcome = z.object({ animalId: z.uuid(), warnings: z.array(claimWarning) });

const NOBODY = '00000000-0000-0000-0000-000000000000';

/** Registers an animal or a lot with its holder, its owner, its access and its parents, in one transaction. */
@Injectable()
export class RegisterStock {
  constructor(private readonly uow: UnitOfWork) {}

  /**
   * Gives the id, and what is worth knowing of its parents. NOT_FOUND for a keeper the viewer does not act for or a parent they
   * may not see; DAY_IN_FUTURE, HELD_BEFORE_BIRTH, LINEAGE_*, RECORD_MERGED, RATE_LIMITED by `requireChipTries`.
   */
  async execute(viewer: Viewer, command: RegisterStockCommand): Promise<z.infer<typeof outcome>> {
    if (!actsFor(viewer, command.keeperId)) throw notFound('keeper');
    return this.uow.write(viewer, { action: 'animal.register', input: command, outcome }, async (tx) => {
      await requireChipTries(
        tx,
        command.marks.map(({ kind }) => kind),
      );
      if ((await findTaxonAndLine(tx, command.taxonId, command.lineId)) === null) {
        throw invalidInput([
          {
            path: 'input.taxonId',
            message: 'No such taxon, or no such line of it.',
            remedy: 'Choose from the list `taxa`.',
          },
        ]);
      }
      const since = command.since ?? tx.today;
      const possible = decideSince(command, since, tx.today);
      if (!possible.ok) return possible;
      const parents = await decideParents(tx, viewer, command);
      if (!parents.ok) return parents;
      const declaredFounder = command.founder || (command.originClass === 'wild' && command.parents.length === 0);
      const made = await registerStock(tx, {
        animal: { ...command, declaredFounder, on: since, facts: factsOf(command) },
        parents: command.parents,
        from: since,
        arrivedBy: command.arrivedBy,
        owners: [{ owner: { kind: 'keeper', keeperId: command.keeperId }, parts: 1 }],
      });
      if (!made.ok) return made;
      await tx.ledger.append(registered, {
        subjects: [made.value.id, command.keeperId],
        body: {
          animalId: made.value.id,
          registerNumber: made.value.registerNumber,
          keeperId: command.keeperId,
          kind: command.kind,
          taxonId: command.taxonId,
          lineId: command.lineId,
          sex: command.sex ?? 'unknown',
          birthEarliest: command.birth?.when.earliest ?? null,
          birthLatest: command.birth?.when.latest ?? null,
          birthManner: command.birth?.manner ?? 'unknown',
          originClass: command.originClass ?? 'unknown',
          markKinds: command.marks.map((mark) => mark.kind),
          parents: command.parents.map(({ role, basis, withoutSire, candidates }) => ({
            role,
            basis,
            withoutSire,
            candidates: candidates.map(({ parentId, probability }) => ({ parentId, probability })),
          })),
          founder: declaredFounder,
          count: command.count,
          countEstimated: command.countEstimated,
          since,
          arrivedBy: command.arrivedBy,
        },
        personal: {
          ...(command.name === null ? {} : { name: command.name }),
          ...Object.fromEntries(command.marks.map((mark, i) => [`marks.${i}`, mark.value])),
        },
      });
      await requestOriginRecheck(tx, [made.value.id]);
      return decide({ animalId: made.value.id, warnings: parents.value });
    });
  }
}

function decideSince(command: RegisterStockCommand, since: Day, today: Day): Decision<null> {
  if (since > today) return refuse('DAY_IN_FUTURE', `${since} is still to come.`);
  const birth = command.birth?.when;
  if (birth !== undefined && isOnOrBefore(birth, { earliest: since, latest: since }) === 'no') {
    return refuse(
      'HELD_BEFORE_BIRTH',
      `By the birth you give, it was not yet born on ${since}. Correct the birth or the day since which you have it.`,
    );
  }
  return decide(null);
}

async function decideParents(tx: Tx, viewer: Viewer, command: RegisterStockCommand): Promise<Decision<ClaimWarning[]>> {
  if (command.founder && command.parents.length > 0) {
    const message = 'A founder has no recorded parents: its line begins with it.';
    const fields = [{ path: 'input.founder', message, remedy: 'Leave out its parents, or `founder`.' }];
    return refuse('LINEAGE_FOUNDER_HAS_PARENTS', message, { fields });
  }
  const birth = { earliest: command.birth?.when.earliest ?? null, latest: command.birth?.when.latest ?? null };
  const child = {
    id: NOBODY,
    kind: command.kind,
    taxonId: command.taxonId,
    sex: command.sex ?? ('unknown' as const),
    birth,
  };
  const warnings: ClaimWarning[] = [];
  for (const statement of command.parents) {
    const { role, candidates } = statement;
    const pathOf = (i: number): string =>
      candidates.length === 1 ? `input.${role}Id` : `input.${role}Candidates.${i}.parentId`;
    const possible = await decideStatement(tx, viewer, child, statement, pathOf);
    if (!possible.ok) return possible;
    warnings.push(...possible.value);
  }
  const of = (role: 'sire' | 'dam') => command.parents.find((each) => each.role === role)?.candidates ?? [];
  const two = decideTwoParents(of('sire'), of('dam'));
  return two.ok ? decide(warnings) : two;
}

function factsOf(command: RegisterStockCommand): FactInput[] {
  return [
    ...(command.birth === null
      ? []
      : [{ fact: { kind: 'birth' as const, body: { manner: command.birth.manner } }, when: command.birth.when }]),
    ...(command.sex === null ? [] : [{ fact: { kind: 'sex' as const, body: { sex: command.sex } }, when: null }]),
    ...(command.originClass === null
      ? []
      : [{ fact: { kind: 'origin' as const, body: { originClass: command.originClass } }, when: null }]),
    ...(command.name === null ? [] : [{ fact: { kind: 'name' as const, body: { name: command.name } }, when: null }]),
  ];
}
