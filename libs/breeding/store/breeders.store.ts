import { Injectable } from '@nestjs/common';
import { fromDateColumn, fromDateColumnOrNull } from '../../access/index.js';
import { type Day } from '../../kernel/index.js';
import { Database } from '../../platform/prisma/index.js';
import { groupRows } from '../../taxon/index.js';
import { type AgreedPeriod, type BreederParty, type OwnedPeriod } from '../core/breeders.core.js';
import { type Dealing } from '../core/breeders-told.core.js';
import { type DamMating } from '../core/parent-candidates.core.js';
import { type InForce, type StoredClutch } from './breeding-read.store.js';
import { toClutch, WHOLE_CLUTCH } from './clutch.store.js';
import { spanOf } from './when-columns.js';

/** Two records of one animal: `merged` goes on as `keep` while it is in force. */
export type StoredMerge = InForce & { readonly keepId: string; readonly mergedId: string };

/** Everything that bears on who bred the young of a dam, every version, of each of her records. */
export type DamRecords = {
  readonly taxonId: string;
  readonly bornFrom: Day | null;
  readonly merges: readonly StoredMerge[];
  readonly owned: readonly (InForce & OwnedPeriod & { readonly animalId: string })[];
  readonly agreed: readonly (InForce & AgreedPeriod & { readonly animalId: string })[];
  readonly matings: readonly (InForce & Pick<DamMating, 'damId' | 'basis' | 'when'>)[];
  readonly dealings: readonly Dealing[];
};

type OwnedRow = {
  animalId: string;
  state: 'agreed' | 'disputed';
  validFrom: Date;
  validTo: Date | null;
  recordedAt: Date;
  supersededAt: Date | null;
  owners: BreederParty[];
};

type AgreedRow = Omit<OwnedRow, 'owners' | 'state'> & {
  who: 'lender' | 'borrower' | 'both';
  lenderId: string;
  borrowerId: string;
};

/**
 * Reads what decides who bred young. No scope: it is worked out from the whole record, whoever asks, and `tellBreeders` says
 * what of the outcome is told to whom.
 */
@Injectable()
export class BreedersStore {
  constructor(private readonly database: Database) {}

  /** A fixed number of statements, however many dams. */
  async findDams(damIds: readonly string[]): Promise<Map<string, DamRecords>> {
    const asked = [...damIds];
    const { client } = this.database;
    // The records of one animal are the one kept and those merged into it; undone merges are read for what was known then.
    const merges = await client.$queryRaw<(StoredMerge & { damId: string })[]>`
      SELECT DISTINCT d.id AS "damId", m.keep_id AS "keepId", m.merged_id AS "mergedId",
             m.recorded_at AS "recordedAt", m.superseded_at AS "supersededAt"
      FROM unnest(${asked}::uuid[]) AS d(id)
      JOIN record_merge o ON o.merged_id = d.id OR o.keep_id = d.id
      JOIN record_merge m ON m.keep_id = o.keep_id`;
    const mergesOf = groupRows(merges, ({ damId }) => damId);
    const recordsOf = (damId: string): string[] => [
      ...new Set([damId, ...(mergesOf.get(damId) ?? []).flatMap(({ keepId, mergedId }) => [keepId, mergedId])]),
    ];
    const ids = [...new Set(asked.flatMap(recordsOf))];
    const animals = await client.animal.findMany({
      where: { id: { in: asked } },
      select: { id: true, taxonId: true, birthEarliest: true },
    });
    const owned = groupRows(await this.readOwned(ids), ({ animalId }) => animalId);
    const agreed = groupRows(await this.readAgreed(ids), ({ animalId }) => animalId);
    const dealings = groupRows(await this.readDealings(ids), ({ animalId }) => animalId);
    const rows = await client.mating.findMany({ where: { damId: { in: ids } }, orderBy: { id: 'asc' } });
    const matings = groupRows(
      rows.map((row) => ({ ...row, when: spanOf(row) })),
      ({ damId }) => damId,
    );
    return new Map(
      animals.map(({ id, taxonId, birthEarliest }) => {
        const of = <T>(found: ReadonlyMap<string, T[]>): T[] => recordsOf(id).flatMap((each) => found.get(each) ?? []);
        const bornFrom = fromDateColumnOrNull(birthEarliest);
        const records = { merges: mergesOf.get(id) ?? [], owned: of(owned), agreed: of(agreed), matings: of(matings) };
        return [id, { taxonId, bornFrom, ...records, dealings: of(dealings) }];
      }),
    );
  }

  /** Every version of the clutches, named by their first versions, in the order of recording. */
  async findVersions(originalIds: readonly string[]): Promise<Map<string, StoredClutch[]>> {
    const rows = await this.database.client.clutch.findMany({
      where: { originalId: { in: [...originalIds] } },
      include: WHOLE_CLUTCH,
      orderBy: [{ recordedAt: 'asc' }, { id: 'asc' }],
    });
    return groupRows(
      rows.map((row) => ({ ...toClutch(row), supersededAt: row.supersededAt })),
      ({ originalId }) => originalId,
    );
  }

  /** The names of people without an account, as far as these keepers recorded them. */
  async findOutsideNames(keeperIds: readonly string[], partyIds: readonly string[]): Promise<Map<string, string>> {
    const rows = await this.database.client.outsideParty.findMany({
      where: { id: { in: [...partyIds] }, recordedFor: { in: [...keeperIds] } },
      select: { id: true, name: true },
    });
    return new Map(rows.map(({ id, name }) => [id, name]));
  }

  /** Between which keepers each changed hands: what was only offered would let anybody try names. */
  private async readDealings(ids: readonly string[]): Promise<(Dealing & { animalId: string })[]> {
    return this.database.client.$queryRaw`
      SELECT i.animal_id AS "animalId", t.from_keeper_id AS "giverId", t.to_keeper_id AS "receiverId",
        t.taken_up_at IS NOT NULL AS taken
      FROM transfer_item i JOIN transfer t ON t.id = i.transfer_id
      WHERE i.animal_id = ANY(${[...ids]}::uuid[]) AND i.received_on IS NOT NULL AND t.to_keeper_id IS NOT NULL
      ORDER BY i.id`;
  }

  private async readOwned(ids: readonly string[]): Promise<DamRecords['owned']> {
    const rows = await this.database.client.$queryRaw<OwnedRow[]>`
      SELECT o.animal_id AS "animalId", o.state::text AS state, o.valid_from AS "validFrom", o.valid_to AS "validTo",
        o.recorded_at AS "recordedAt", o.superseded_at AS "supersededAt",
        (SELECT coalesce(jsonb_agg(CASE WHEN s.keeper_id IS NOT NULL
            THEN jsonb_build_object('kind', 'keeper', 'keeperId', s.keeper_id)
            ELSE jsonb_build_object('kind', 'outside_party', 'outsidePartyId', s.outside_party_id) END ORDER BY s.id), '[]')
          FROM ownership_share s WHERE s.ownership_id = o.id) AS owners
      FROM ownership o WHERE o.animal_id = ANY(${[...ids]}::uuid[]) ORDER BY o.valid_from, o.recorded_at, o.id`;
    return rows.map((row) => ({ ...daysOf(row), owners: row.owners, disputed: row.state === 'disputed' }));
  }

  /** The days on which each was with the borrower of a loan whose terms say who counts as breeder. */
  private async readAgreed(ids: readonly string[]): Promise<DamRecords['agreed']> {
    const rows = await this.database.client.$queryRaw<AgreedRow[]>`
      SELECT c.animal_id AS "animalId", c.valid_from AS "validFrom", c.valid_to AS "validTo",
        c.recorded_at AS "recordedAt", c.superseded_at AS "supersededAt", l.young_bred_by::text AS who,
        t.from_keeper_id AS "lenderId", t.to_keeper_id AS "borrowerId"
      FROM custody c JOIN loan_terms l ON l.transfer_id = c.arrival_ref JOIN transfer t ON t.id = l.transfer_id
      WHERE c.animal_id = ANY(${[...ids]}::uuid[]) AND c.keeper_id = t.to_keeper_id AND l.young_bred_by IS NOT NULL
      ORDER BY c.valid_from, c.recorded_at, c.id`;
    return rows.map((row) => {
      const [lender, borrower] = [row.lenderId, row.borrowerId].map(
        (keeperId) => ({ kind: 'keeper', keeperId }) as const,
      );
      const counts = { lender: [lender], borrower: [borrower], both: [lender, borrower] }[row.who];
      return { ...daysOf(row), breeders: counts.filter((each) => each !== undefined) };
    });
  }
}

function daysOf(row: Omit<AgreedRow, 'who' | 'lenderId' | 'borrowerId'>) {
  const { animalId, recordedAt, supersededAt } = row;
  return {
    ...{ animalId, recordedAt, supersededAt },
    from: fromDateColumn(row.validFrom),
    to: fromDateColumnOrNull(row.validTo),
  };
}
