import { Injectable } from '@nestjs/common';
import { fieldsShown, findAccess } from '../../access/index.js';
import { type When } from '../../animal/index.js';
import { actsFor, NO_ID, type Viewer } from '../../kernel/index.js';
import { type ParentageBasis } from '../../lineage/index.js';
import { Database } from '../../platform/prisma/index.js';
import { groupRows, TaxonStore } from '../../taxon/index.js';
import { type BreedingBounds } from '../core/bounds.core.js';
import { type EggPeriod } from '../core/egg-holder.core.js';
import { type KnownAnswer } from '../core/breeding.core.js';
import { clutchesShared } from './breeding-share.store.js';
import { clutchDays, type ClutchFacts, findClutches, taxonOf, toClutch, WHOLE_CLUTCH } from './clutch.store.js';
import { readEggPeriods } from './egg-custody.store.js';
import { readEggEvents, readEggs, type StoredEggEvent } from './egg.store.js';
import { whenOf } from './when-columns.js';

/** From when to when a version of a fact was in force. */
export type InForce = { readonly recordedAt: Date; readonly supersededAt: Date | null };

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
  readonly eggId: string | null;
  /** With whom it hatched, and the clutch it came out of: its first version and its keeper. */
  readonly keeperId: string;
  readonly originalId: string;
  readonly clutchKeeperId: string;
  readonly when: When | null;
};

export type StoredEgg = Awaited<ReturnType<typeof readEggs>>[number] & {
  /** Who had it after it was handed over, oldest first. */
  readonly periods: readonly EggPeriod[];
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
      include: WHOLE_CLUTCH,
      orderBy: ORDER,
    });
    const clutches = rows.map((row) => ({ ...toClutch(row), supersededAt: row.supersededAt }));
    return new Map(ids.map((id) => [id, clutches.filter(({ dams }) => dams.some((dam) => dam.id === id))]));
  }

  /** Hatchings of each animal or lot. */
  async findHatchings(animalIds: readonly string[]): Promise<Map<string, StoredHatching[]>> {
    const rows = await this.database.client.hatching.findMany({
      where: { animalId: { in: [...animalIds] } },
      include: WITH_CLUTCH,
      orderBy: ORDER,
    });
    return groupRows(rows.map(toHatching), (row) => row.animalId);
  }

  /**
   * The clutch in force, where a keeper of the viewer recorded it, it was shared with them, or the record of one of its dams is
   * shown to them as it is today; otherwise null.
   */
  async findShown(viewer: Viewer, id: string): Promise<StoredClutch | null> {
    return (await this.findAllShown(viewer, [id])).get(id) ?? null;
  }

  /** The same of several, by the ids they were asked for with. */
  async findAllShown(viewer: Viewer, ids: readonly string[]): Promise<Map<string, StoredClutch>> {
    const clutches = [...(await findClutches(this.database.client, ids))];
    const others = clutches.map(([, clutch]) => clutch).filter(({ keeperId }) => !actsFor(viewer, keeperId));
    const shared = await clutchesShared(
      this.database.client,
      viewer,
      others.map(({ originalId }) => originalId),
    );
    const left = others.filter(({ originalId }) => !shared.has(originalId));
    const damIds = left.flatMap(({ dams }) => dams.map((dam) => dam.id));
    // Asked in any case: what is asked does not tell which clutches there are.
    const access = await findAccess(this.database.client, viewer, [...damIds, NO_ID]);
    const reads = (damId: string): boolean => {
      const shown = access.get(damId);
      return shown !== undefined && fieldsShown(shown.level).record && shown.readsUntil === null;
    };
    return new Map(
      clutches.flatMap(([id, clutch]) => {
        const hidden = left.includes(clutch) && !clutch.dams.some((dam) => reads(dam.id));
        return hidden ? [] : [[id, { ...clutch, supersededAt: null }] as const];
      }),
    );
  }

  /** The young of each clutch, named by its first version, with the versions of their hatchings. */
  async findYoung(originalIds: readonly string[]): Promise<Map<string, StoredHatching[]>> {
    const rows = await this.database.client.hatching.findMany({
      where: { clutch: { originalId: { in: [...originalIds] } } },
      include: WITH_CLUTCH,
      orderBy: ORDER,
    });
    return groupRows(rows.map(toHatching), (row) => row.originalId);
  }

  async findEggEvents(originalIds: readonly string[]): Promise<Map<string, StoredEggEvent[]>> {
    return groupRows(await readEggEvents(this.database.client, originalIds), (event) => event.clutchId);
  }

  async findEggs(originalIds: readonly string[]): Promise<Map<string, StoredEgg[]>> {
    const periods = await readEggPeriods(this.database.client, originalIds);
    const eggs = await readEggs(this.database.client, originalIds);
    return groupRows(
      eggs.map((egg) => ({ ...egg, periods: periods.get(egg.id) ?? [] })),
      (egg) => egg.clutchId,
    );
  }

  /** See `clutchesShared`. */
  async findShares(viewer: Viewer, originalIds: readonly string[]): ReturnType<typeof clutchesShared> {
    return clutchesShared(this.database.client, viewer, originalIds);
  }

  /** The taxon of a clutch, see `taxonOf`. */
  async findTaxon(clutch: Pick<ClutchFacts, 'dams'>): Promise<string | null> {
    return taxonOf(this.database.client, clutch);
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

const WITH_CLUTCH = {
  clutch: { select: { originalId: true, keeperId: true } },
  egg: { select: { number: true } },
};

type HatchingRow = Omit<StoredHatching, 'keeperId' | 'originalId' | 'clutchKeeperId' | 'eggNumber' | 'when'> &
  Parameters<typeof whenOf>[0] & {
    keeperId: string | null;
    clutch: { originalId: string; keeperId: string };
    egg: { number: number } | null;
  };

function toHatching(row: HatchingRow): StoredHatching {
  const { originalId, keeperId: clutchKeeperId } = row.clutch;
  return {
    ...row,
    eggNumber: row.egg?.number ?? null,
    when: whenOf(row),
    originalId,
    clutchKeeperId,
    keeperId: row.keeperId ?? clutchKeeperId,
  };
}

const ORDER = [{ recordedAt: 'asc' as const }, { id: 'asc' as const }];
