import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { getForWrite, lockAnimals, requireAuthority, type StockRecord } from '../../animal/index.js';
import { findOwnEnclosure, lockEnclosure } from '../../housing/index.js';
import {
  actsFor,
  type Day,
  decide,
  type Decision,
  notFound,
  refuse,
  type UncertainDay,
  type Viewer,
} from '../../kernel/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { type Tx, UnitOfWork } from '../../platform/prisma/index.js';
import { type BreedingWarning } from '../core/bounds.core.js';
import { decideClutch, KNOWN_ANSWERS, type KnownAnswer } from '../core/breeding.core.js';
import { isProbablySame, layingSpan, mergeReports } from '../core/clutch.core.js';
import { type Candidate, equally } from '../core/parent-candidates.core.js';
import { clutchWarnings } from '../core/plausibility.core.js';
import {
  clutchDays,
  clutchesAround,
  type ClutchFacts,
  type ClutchKind,
  findClutch,
  insertClutch,
  likenessOf,
  lockClutch,
  type NewClutch,
  readBounds,
  supersedeClutch,
} from '../store/clutch.store.js';
import { possibleDams } from '../store/sire-facts.store.js';
import { breedingWarnings } from './breeding-warnings.js';
import { MAX_CANDIDATES } from './propose-parents.js';

export type RecordClutchCommand = {
  readonly kind?: ClutchKind;
  /** The one dam, or all that can be; none = whoever can have laid in the enclosure. */
  readonly damId: string | null;
  readonly damCandidates?: readonly { readonly parentId: string; readonly probability: number }[];
  readonly enclosureId?: string | null;
  readonly laid: UncertainDay | null;
  readonly foundOn: Day | null;
  readonly eggCount: number | null;
  readonly controlled: KnownAnswer;
  /** It is another clutch than the one that looks the same. */
  readonly separateClutch?: boolean;
  /** It is this clutch, which somebody recorded before: what that record lacks is added to it. */
  readonly mergeInto?: string | null;
};

const clutchRecorded = defineLedgerAction(
  'breeding.clutch-recorded',
  2,
  z.strictObject({
    clutchId: z.uuid(),
    /** The version of an earlier record that this report was merged into. */
    mergedInto: z.uuid().nullable(),
    kind: z.enum(['eggs', 'born']),
    dams: z.array(z.object({ id: z.uuid(), probability: z.number() })),
    keeperId: z.uuid(),
    enclosureId: z.uuid().nullable(),
    controlled: z.enum(KNOWN_ANSWERS),
    eggCount: z.int().nullable(),
    earliest: z.string().nullable(),
    latest: z.string().nullable(),
    foundOn: z.string().nullable(),
  }),
);

const outcome = z.object({ clutchId: z.uuid(), warnings: breedingWarnings });

/** Records a clutch, or young born at one time, of a dam that a keeper of the viewer has or owns, or of one of several. */
@Injectable()
export class RecordClutch {
  constructor(private readonly uow: UnitOfWork) {}

  /**
   * NOT_FOUND, FORBIDDEN, BREEDING_*, CLUTCH_FOUND_BEFORE_LAID, CLUTCH_WITHOUT_DAM, CLUTCH_PROBABLY_RECORDED with the other clutch
   * as blocker, DAY_IN_FUTURE, FACT_BEFORE_BIRTH. Bounds of the taxon only warn.
   */
  async execute(
    viewer: Viewer,
    command: RecordClutchCommand,
  ): Promise<{ clutchId: string; warnings: BreedingWarning[] }> {
    const request = { action: 'breeding.record-clutch', input: command, outcome };
    return this.uow.write(viewer, request, async (tx) => {
      const found = await this.findDams(tx, viewer, command);
      if (!found.ok) return found;
      const dams = found.value;
      // Two people who record one clutch meet at the dam, or at the enclosure; the second reads what the first wrote.
      await lockAnimals(
        tx,
        dams.map((dam) => dam.id),
      );
      const enclosureId = command.enclosureId ?? null;
      if (enclosureId !== null) await lockEnclosure(tx, enclosureId);
      const keepers: string[] = [];
      for (const dam of dams) keepers.push((await requireAuthority(tx, viewer, dam.id)).keeperId);
      const keeperId = keepers[0] ?? '';
      const records: StockRecord[] = [];
      for (const dam of dams) records.push(await getForWrite(tx, dam.id));
      const { laid, foundOn, eggCount, controlled } = command;
      const possible = decideClutch({ dams: records, laid, foundOn }, tx.today);
      if (!possible.ok) return possible;
      const fresh: NewClutch = {
        kind: command.kind ?? 'eggs',
        dams,
        enclosureId,
        eggCount,
        controlled,
        laid,
        foundOn,
        keeperId,
      };
      const written = await this.writeOnce(tx, viewer, command, fresh);
      if (!written.ok) return written;
      const { clutchId, originalId, clutch, mergedInto } = written.value;
      await tx.ledger.append(clutchRecorded, {
        subjects: [originalId, ...dams.map((dam) => dam.id)],
        body: {
          clutchId,
          mergedInto,
          kind: clutch.kind,
          dams: clutch.dams.map(({ id, probability }) => ({ id, probability })),
          keeperId,
          enclosureId: clutch.enclosureId,
          controlled,
          eggCount: clutch.eggCount,
          earliest: clutch.laid?.earliest ?? null,
          latest: clutch.laid?.latest ?? null,
          foundOn: clutch.foundOn,
        },
      });
      const warnings = [...written.value.warnings, ...(await weighClutch(tx, originalId, clutch, records))];
      return decide({ clutchId, warnings });
    });
  }

  /** The dams named, or those who can have laid in the enclosure. */
  private async findDams(tx: Tx, viewer: Viewer, command: RecordClutchCommand): Promise<Decision<Candidate[]>> {
    const enclosureId = command.enclosureId ?? null;
    const keeperIds = viewer.keepers.map((keeper) => keeper.keeperId);
    const enclosure = enclosureId === null ? null : await findOwnEnclosure(tx, keeperIds, enclosureId);
    if (enclosureId !== null && enclosure === null) throw notFound('enclosure');
    if (command.damId !== null) return decide([{ id: command.damId, probability: 1 }]);
    const named = command.damCandidates ?? [];
    if (named.length > 0) return decide(named.map(({ parentId, probability }) => ({ id: parentId, probability })));
    const days = layingSpan(command.laid, command.foundOn, tx.today);
    const there =
      enclosure === null
        ? []
        : await possibleDams(tx.db, {
            enclosureId: enclosure.id,
            keeperId: enclosure.keeperId,
            taxonId: null,
            days,
            today: tx.today,
          });
    if (there.length > 0 && there.length <= MAX_CANDIDATES) return decide(equally(there));
    return refuse(
      'CLUTCH_WITHOUT_DAM',
      there.length === 0
        ? 'No dam is named, and nobody who can have laid was in the enclosure then.'
        : `${there.length} animals can have laid there. Name the dam, or up to ${MAX_CANDIDATES} candidates.`,
    );
  }

  private async writeOnce(
    tx: Tx,
    viewer: Viewer,
    command: RecordClutchCommand,
    fresh: NewClutch,
  ): Promise<Decision<Written>> {
    if (command.mergeInto) {
      const seen = await findClutch(tx.db, command.mergeInto);
      const first = seen === null ? null : await lockClutch(tx, seen.originalId);
      const readable = first !== null && (actsFor(viewer, first.keeperId) || sharesDam(first, fresh));
      if (first === null || !readable) throw notFound('clutch');
      const merged = mergeReports(first, fresh);
      const clutch: NewClutch = { ...first, ...merged.report };
      const clutchId = await supersedeClutch(tx, first, clutch, 'A second report was merged into it.');
      return decide({
        clutchId: clutchId ?? first.id,
        originalId: first.originalId,
        clutch,
        mergedInto: first.id,
        warnings: merged.warnings,
      });
    }
    if (command.separateClutch !== true) {
      const likeness = likenessOf({ ...fresh, id: '', originalId: '', recordedAt: tx.now, firstRecordedAt: tx.now });
      const around = await clutchesAround(tx, likeness.damIds, fresh.enclosureId);
      const same = around.filter((other) => isProbablySame(likenessOf(other), likeness));
      if (same.length > 0) return refuseSame(same);
    }
    const clutchId = await insertClutch(tx, fresh);
    return decide({ clutchId, originalId: clutchId, clutch: fresh, mergedInto: null, warnings: [] });
  }
}

type Written = {
  readonly clutchId: string;
  readonly originalId: string;
  readonly clutch: NewClutch;
  readonly mergedInto: string | null;
  readonly warnings: readonly BreedingWarning[];
};

function sharesDam(first: ClutchFacts, fresh: NewClutch): boolean {
  return first.dams.some((dam) => fresh.dams.some((other) => other.id === dam.id));
}

function refuseSame(same: readonly ClutchFacts[]): Decision<never> {
  const remedy =
    'Send it again with `mergeInto` and this id to add what you know to that clutch, or with `separateClutch: true` if it is another one.';
  return refuse(
    'CLUTCH_PROBABLY_RECORDED',
    'A clutch of this dam or enclosure is recorded for days that overlap. It is probably the same one.',
    { blockers: same.slice(0, 5).map((clutch) => ({ kind: 'clutch', id: clutch.id, remedy })) },
  );
}

/** Warnings about a clutch as it stands. */
export async function weighClutch(
  tx: Tx,
  originalId: string,
  clutch: NewClutch,
  dams: readonly StockRecord[],
): Promise<BreedingWarning[]> {
  const [dam, ...others] = dams;
  if (dam === undefined) return [];
  const certain = others.length === 0 ? dam : null;
  const known = certain === null ? [] : ((await clutchDays(tx.db, [certain.id])).get(certain.id) ?? []);
  const laid = { earliest: clutch.laid?.earliest ?? null, latest: clutch.laid?.latest ?? clutch.foundOn };
  const otherClutches = known.filter((each) => each.originalId !== originalId).map((each) => each.laid);
  const weighed = { kind: clutch.kind, eggCount: clutch.eggCount, laid, dam: certain, otherClutches };
  return clutchWarnings(weighed, await readBounds(tx.db, dam.taxonId));
}
