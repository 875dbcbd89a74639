import { Injectable } from '@nestjs/common';
import { fromDateColumn, fromDateColumnOrNull } from '../../access/index.js';
import { Database, type Prisma } from '../../platform/prisma/index.js';
import { type ExportDocument } from '../document/export-document.schema.js';
import { uncertain } from './uncertain.js';

const day = fromDateColumnOrNull;

/** Reads what a keeper recorded beside the animals themselves, in force only, animals by id. The caller owns the keeper. */
@Injectable()
export class ExportRecordsStore {
  constructor(private readonly database: Database) {}

  async findDocuments(keeperId: string) {
    const rows = await this.database.client.holdingDocument.findMany({
      where: { keeperId, supersededAt: null },
      include: { covers: { include: { taxon: { select: { scientificName: true } } } }, files: true },
      orderBy: { id: 'asc' },
    });
    return rows.map(({ kind, number, authority, jurisdiction, validFrom, validUntil, recordedAt, covers, files }) => ({
      kind,
      number,
      authority,
      jurisdiction,
      validFrom: day(validFrom),
      validUntil: day(validUntil),
      recordedAt: recordedAt.toISOString(),
      covers: covers.map(({ animalId, taxon, quantity }) => ({
        animalId,
        scientificName: taxon?.scientificName ?? null,
        quantity,
      })),
      files: files.map(({ id, documentId, fileName, mediaType, size, sha256, uploadedAt }) => ({
        fileName,
        mediaType,
        size,
        sha256,
        uploadedAt: uploadedAt.toISOString(),
        address: `/documents/${documentId}/files/${id}`,
      })),
    }));
  }

  async findEnclosures(keeperId: string) {
    const rows = await this.database.client.enclosure.findMany({
      where: { keeperId },
      include: { placements: { where: { supersededAt: null }, orderBy: [{ validFrom: 'asc' }, { id: 'asc' }] } },
      orderBy: { id: 'asc' },
    });
    return rows.map(({ name, setting, room, controlled, controlledSince, placements }) => ({
      name,
      setting,
      room,
      controlled,
      controlledSince: day(controlledSince),
      stays: placements.map(({ animalId, validFrom, validTo }) => ({
        animalId,
        from: fromDateColumn(validFrom),
        to: day(validTo),
      })),
    }));
  }

  async findMatings(keeperId: string) {
    const rows = await this.database.client.mating.findMany({
      where: { keeperId, supersededAt: null },
      orderBy: { id: 'asc' },
    });
    return rows.map(({ damId, sireId, basis, controlled, recordedAt, ...row }) => ({
      damId,
      sireId,
      basis,
      controlled,
      when: uncertain(row),
      recordedAt: recordedAt.toISOString(),
    }));
  }

  async findClutches(keeperId: string) {
    const rows = await this.database.client.clutch.findMany({
      where: { keeperId, supersededAt: null },
      include: {
        candidates: true,
        original: {
          include: {
            // What others recorded of eggs they received is theirs.
            eggEvents: {
              where: { supersededAt: null, OR: [{ keeperId: null }, { keeperId }] },
              include: { egg: true },
              orderBy: { id: 'asc' },
            },
          },
        },
        enclosure: { select: { name: true } },
      },
      orderBy: { id: 'asc' },
    });
    // Young are recorded with any version of their clutch.
    const hatchings = await this.database.client.hatching.findMany({
      where: {
        supersededAt: null,
        clutch: { originalId: { in: rows.map((row) => row.originalId) } },
        OR: [{ keeperId: null }, { keeperId }],
      },
      include: { clutch: { select: { originalId: true } }, egg: { select: { number: true } } },
      orderBy: { id: 'asc' },
    });
    return rows.map((row) => ({
      kind: row.kind,
      dams:
        row.damId === null
          ? row.candidates.map(({ damId, probability }) => ({ damId, probability: probability.toNumber() }))
          : [{ damId: row.damId, probability: 1 }],
      enclosure: row.enclosure?.name ?? null,
      eggCount: row.eggCount,
      controlled: row.controlled,
      laid: uncertain(row),
      foundOn: day(row.foundOn),
      recordedAt: row.recordedAt.toISOString(),
      eggEvents: row.original.eggEvents.map((event) => ({ egg: event.egg?.number ?? null, ...toEggEvent(event) })),
      hatchings: hatchings
        .filter((hatching) => hatching.clutch.originalId === row.originalId)
        .map((hatching) => ({
          animalId: hatching.animalId,
          egg: hatching.egg?.number ?? null,
          when: uncertain(hatching),
        })),
    }));
  }

  async findPairings(keeperId: string) {
    const rows = await this.database.client.pairing.findMany({ where: { keeperId }, orderBy: { id: 'asc' } });
    return rows.map(({ damId, sireId, state, from, until, note, recordedAt }) => ({
      damId,
      sireId,
      state,
      from: fromDateColumn(from),
      until: day(until),
      note,
      recordedAt: recordedAt.toISOString(),
    }));
  }

  async findQuarantines(keeperId: string) {
    const rows = await this.database.client.quarantineGroup.findMany({
      where: { keeperId },
      include: { entries: { orderBy: [{ enteredOn: 'asc' }, { id: 'asc' }] } },
      orderBy: { id: 'asc' },
    });
    return rows.map(({ name, days, daysSource, restartScope, releasedOn, releaseReason, entries }) => ({
      name,
      days,
      daysSource,
      restartScope,
      releasedOn: day(releasedOn),
      releaseReason,
      stays: entries.map(({ animalId, enteredOn, leftOn }) => ({
        animalId,
        from: fromDateColumn(enteredOn),
        to: day(leftOn),
      })),
    }));
  }

  /** What the keeper says of animals it has now. */
  async findAvailability(keeperId: string) {
    const rows = await this.database.client.breedingAvailability.findMany({
      where: { keeperId, access: { validTo: null } },
      orderBy: { accessId: 'asc' },
    });
    return rows.map(({ animalId, open, untilOn, offers, setAt }) => ({
      animalId,
      open,
      until: day(untilOn),
      offers,
      setAt: setAt.toISOString(),
    }));
  }

  /** What these accounts corrected or took back for the keeper, with their reasons, oldest first. */
  async findCorrections(keeperId: string, accountIds: readonly string[]) {
    return this.database.client.$queryRawUnsafe<Correction[]>(CORRECTIONS, keeperId, [...accountIds]);
  }
}

/** What happened to an egg. */
export function toEggEvent({
  kind,
  incubator,
  celsius,
  candling,
  ...event
}: Prisma.EggEventGetPayload<object>): ExportDocument['eggsHeld'][number]['events'][number] {
  return { kind, incubator, celsius: celsius?.toNumber() ?? null, candling, when: uncertain(event) };
}

type Correction = {
  of: ExportDocument['corrections'][number]['of'];
  animalId: string | null;
  recordedAt: Date;
  supersededAt: Date | null;
  reason: string;
};

/** A reason stands on the row that was corrected; its words are those of whoever recorded what took its place, if anything did. */
const byPeople = (table: string, of: string, animal: string, reason = 'reason'): string => `
  SELECT '${of}' AS of, t.${animal} AS animal, t.recorded_at, t.superseded_at, t.${reason} AS reason FROM ${table} t
  WHERE t.${reason} IS NOT NULL AND t.${animal} IN (SELECT animal_id FROM animal_access WHERE keeper_id = $1::uuid)
    AND coalesce((SELECT s.recorded_by FROM ${table} s WHERE s.id = t.superseded_by), t.recorded_by) = ANY($2::uuid[])`;

const CORRECTIONS = `
  SELECT c.of, c.animal::text AS "animalId", c.recorded_at AS "recordedAt", c.superseded_at AS "supersededAt", c.reason FROM (
    ${byPeople('animal_mark', 'mark', 'animal_id')}
    UNION ALL ${byPeople('parentage_claim', 'parentage', 'child_id')}
    UNION ALL ${byPeople('custody', 'custody', 'animal_id')}
    UNION ALL ${byPeople('ownership', 'ownership', 'animal_id')}
    UNION ALL ${byPeople('lot_change', 'count', 'lot_id', 'superseded_because')}
    UNION ALL SELECT 'fact', t.animal_id, t.recorded_at, t.superseded_at, t.reason FROM animal_fact t
      JOIN animal_fact s ON s.id = t.superseded_by AND s.keeper_id = $1::uuid WHERE t.keeper_id <> $1::uuid
    UNION ALL SELECT 'photo_session', m.animal_id, t.recorded_at, t.superseded_at, t.reason FROM photo_session t
      JOIN animal_mark m ON m.id = t.mark_id WHERE t.keeper_id = $1::uuid
    UNION ALL SELECT 'stay', t.animal_id, t.recorded_at, t.superseded_at, t.reason FROM placement t
      JOIN enclosure e ON e.id = t.enclosure_id WHERE e.keeper_id = $1::uuid
    UNION ALL SELECT 'mating', t.dam_id, t.recorded_at, t.superseded_at, t.reason FROM mating t WHERE t.keeper_id = $1::uuid
    UNION ALL SELECT 'clutch', t.dam_id, t.recorded_at, t.superseded_at, t.reason FROM clutch t WHERE t.keeper_id = $1::uuid
    UNION ALL SELECT 'egg_event', k.dam_id, t.recorded_at, t.superseded_at, t.reason FROM egg_event t
      JOIN clutch k ON k.id = t.clutch_id WHERE coalesce(t.keeper_id, k.keeper_id) = $1::uuid
    UNION ALL SELECT 'hatching', t.animal_id, t.recorded_at, t.superseded_at, t.reason FROM hatching t
      JOIN clutch k ON k.id = t.clutch_id WHERE coalesce(t.keeper_id, k.keeper_id) = $1::uuid
    UNION ALL SELECT 'document', NULL, t.recorded_at, t.superseded_at, t.reason FROM holding_document t
      WHERE t.keeper_id = $1::uuid) c
  WHERE c.reason IS NOT NULL ORDER BY c.superseded_at NULLS LAST, c.recorded_at, c.of`;
