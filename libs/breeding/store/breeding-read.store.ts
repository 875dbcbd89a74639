import { Injectable } from '@nestjs/common';
import { fromDateColumnOrNull } from '../../access/index.js';
import { type When } from '../../animal/index.js';
import { type Day } from '../../kernel/index.js';
import { type ParentageBasis } from '../../lineage/index.js';
import { Database } from '../../platform/prisma/index.js';
import { groupRows } from '../../taxon/index.js';
import { type KnownAnswer } from '../core/breeding.core.js';

/** From when to when a version of a fact was in force. */
type InForce = { readonly recordedAt: Date; readonly supersededAt: Date | null };

export type StoredMating = InForce & {
  readonly id: string;
  readonly damId: string;
  readonly sireId: string | null;
  readonly basis: ParentageBasis;
  readonly controlled: KnownAnswer;
  readonly when: When | null;
};

export type StoredClutch = InForce & {
  readonly id: string;
  readonly damId: string;
  readonly eggCount: number | null;
  readonly controlled: KnownAnswer;
  readonly laid: When | null;
  readonly foundOn: Day | null;
};

export type StoredHatching = InForce & {
  readonly id: string;
  readonly animalId: string;
  readonly controlled: KnownAnswer;
  readonly when: When | null;
};

/** What was in force at a moment; null = now. */
export function atMoment<T extends InForce>(facts: readonly T[], at: Date | null): T[] {
  return facts.filter((fact) =>
    at === null
      ? fact.supersededAt === null
      : fact.recordedAt <= at && (fact.supersededAt === null || fact.supersededAt > at),
  );
}

/** Breeding facts with all their versions, in the order they were recorded. Loaders cut them to what is shown. */
@Injectable()
export class BreedingReadStore {
  constructor(private readonly database: Database) {}

  /** Matings of each animal, as dam or sire. */
  async findMatings(animalIds: readonly string[]): Promise<Map<string, StoredMating[]>> {
    const ids = [...animalIds];
    const rows = await this.database.client.mating.findMany({
      where: { OR: [{ damId: { in: ids } }, { sireId: { in: ids } }] },
      orderBy: ORDER,
    });
    const matings = rows.map((row) => ({ ...row, when: whenOf(row) }));
    const asDam = groupRows(matings, (row) => row.damId);
    const asSire = groupRows(matings, (row) => row.sireId ?? '');
    return new Map(ids.map((id) => [id, [...(asDam.get(id) ?? []), ...(asSire.get(id) ?? [])]]));
  }

  /** Clutches of each dam. */
  async findClutches(damIds: readonly string[]): Promise<Map<string, StoredClutch[]>> {
    const rows = await this.database.client.clutch.findMany({ where: { damId: { in: [...damIds] } }, orderBy: ORDER });
    const clutches = rows.map((row) => ({ ...row, laid: whenOf(row), foundOn: fromDateColumnOrNull(row.foundOn) }));
    return groupRows(clutches, (row) => row.damId);
  }

  /** Hatchings of each animal or lot. */
  async findHatchings(animalIds: readonly string[]): Promise<Map<string, StoredHatching[]>> {
    const rows = await this.database.client.hatching.findMany({
      where: { animalId: { in: [...animalIds] } },
      orderBy: ORDER,
    });
    return groupRows(
      rows.map((row) => ({ ...row, when: whenOf(row) })),
      (row) => row.animalId,
    );
  }
}

const ORDER = [{ recordedAt: 'asc' as const }, { id: 'asc' as const }];

function whenOf(row: { edtf: string | null; earliest: Date | null; latest: Date | null }): When | null {
  if (row.edtf === null) return null;
  return { edtf: row.edtf, earliest: fromDateColumnOrNull(row.earliest), latest: fromDateColumnOrNull(row.latest) };
}
