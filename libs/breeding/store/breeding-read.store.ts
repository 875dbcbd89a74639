import { Injectable } from '@nestjs/common';
import { findAccess } from '../../access/index.js';
import { type When } from '../../animal/index.js';
import { type Viewer } from '../../kernel/index.js';
import { type ParentageBasis } from '../../lineage/index.js';
import { Database } from '../../platform/prisma/index.js';
import { groupRows, TaxonStore } from '../../taxon/index.js';
import { type BreedingBounds } from '../core/bounds.core.js';
import { type KnownAnswer } from '../core/breeding.core.js';
import { clutchDays, type ClutchFacts, findClutch, toClutch } from './clutch.store.js';
import { readEggEvents, readEggs, type StoredEggEvent } from './egg.store.js';
import { whenOf } from './when-columns.js';

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

export type StoredClutch = ClutchFacts & InForce;

export type StoredHatching = InForce & {
  readonly id: string;
  readonly animalId: string;
  readonly controlled: KnownAnswer;
  readonly eggNumber: number | null;
  readonly when: When | null;
};

export type StoredEgg = Awaited<ReturnType<typeof readEggs>>[number];

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
  constructor(
    private readonly database: Database,
    private readonly taxa: TaxonStore,
  ) {}

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

  /** Clutches of each dam, and those she may be the dam of. */
  async findClutches(damIds: readonly string[]): Promise<Map<string, StoredClutch[]>> {
    const ids = [...damIds];
    const rows = await this.database.client.clutch.findMany({
      where: { OR: [{ damId: { in: ids } }, { candidates: { some: { damId: { in: ids } } } }] },
      include: { candidates: true },
      orderBy: ORDER,
    });
    const clutches = rows.map((row) => ({ ...toClutch(row), supersededAt: row.supersededAt }));
    return new Map(ids.map((id) => [id, clutches.filter(({ dams }) => dams.some((dam) => dam.id === id))]));
  }

  /** Hatchings of each animal or lot. */
  async findHatchings(animalIds: readonly string[]): Promise<Map<string, StoredHatching[]>> {
    const rows = await this.database.client.hatching.findMany({
      where: { animalId: { in: [...animalIds] } },
      include: { egg: { select: { number: true } } },
      orderBy: ORDER,
    });
    return groupRows(
      rows.map((row) => ({ ...row, eggNumber: row.egg?.number ?? null, when: whenOf(row) })),
      (row) => row.animalId,
    );
  }

  /**
   * The clutch in force, where a keeper of the viewer recorded it or the record of one of its dams is shown to them as it is
   * today; otherwise null.
   */
  async findShown(viewer: Viewer, id: string): Promise<StoredClutch | null> {
    const clutch = await findClutch(this.database.client, id);
    if (clutch === null) return null;
    const own = viewer.keepers.some(({ keeperId }) => keeperId === clutch.keeperId);
    if (own) return { ...clutch, supersededAt: null };
    const damIds = clutch.dams.map((dam) => dam.id);
    const access = await findAccess(this.database.client, viewer, damIds);
    const shown = [...access.values()].some(({ level }) => level === 'full' || level === 'offered');
    return shown ? { ...clutch, supersededAt: null } : null;
  }

  /** The young of each clutch, named by its first version, with the versions of their hatchings. */
  async findYoung(originalIds: readonly string[]): Promise<Map<string, StoredHatching[]>> {
    const rows = await this.database.client.hatching.findMany({
      where: { clutch: { originalId: { in: [...originalIds] } } },
      include: { clutch: { select: { originalId: true } }, egg: { select: { number: true } } },
      orderBy: ORDER,
    });
    const young = rows.map((row) => ({ ...row, eggNumber: row.egg?.number ?? null, when: whenOf(row) }));
    return groupRows(young, (row) => row.clutch.originalId);
  }

  async findEggEvents(originalIds: readonly string[]): Promise<Map<string, StoredEggEvent[]>> {
    return groupRows(await readEggEvents(this.database.client, originalIds), (event) => event.clutchId);
  }

  async findEggs(originalIds: readonly string[]): Promise<Map<string, StoredEgg[]>> {
    return groupRows(await readEggs(this.database.client, originalIds), (egg) => egg.clutchId);
  }

  /** See `clutchDays`. */
  async findClutchDays(damIds: readonly string[]): ReturnType<typeof clutchDays> {
    return clutchDays(this.database.client, damIds);
  }

  /** What breeding reads of each taxon's profile. */
  async findBounds(taxonIds: readonly string[]): Promise<Map<string, BreedingBounds>> {
    return this.taxa.profilesOf(taxonIds);
  }
}

const ORDER = [{ recordedAt: 'asc' as const }, { id: 'asc' as const }];
