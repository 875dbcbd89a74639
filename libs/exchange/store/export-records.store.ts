import { Injectable } from '@nestjs/common';
import { fromDateColumn, fromDateColumnOrNull } from '../../access/index.js';
import { Database } from '../../platform/prisma/index.js';

const day = fromDateColumnOrNull;
const uncertain = (row: { edtf: string | null; earliest: Date | null; latest: Date | null }) =>
  row.edtf === null ? null : { edtf: row.edtf, earliest: day(row.earliest), latest: day(row.latest) };

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
      files: files.map(({ fileName, mediaType, size, sha256 }) => ({ fileName, mediaType, size, sha256 })),
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
          include: { eggEvents: { where: { supersededAt: null }, include: { egg: true }, orderBy: { id: 'asc' } } },
        },
        enclosure: { select: { name: true } },
      },
      orderBy: { id: 'asc' },
    });
    // Young are recorded with any version of their clutch.
    const hatchings = await this.database.client.hatching.findMany({
      where: { supersededAt: null, clutch: { originalId: { in: rows.map((row) => row.originalId) } } },
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
      eggEvents: row.original.eggEvents.map(({ egg, kind, incubator, celsius, candling, ...event }) => ({
        egg: egg?.number ?? null,
        kind,
        incubator,
        celsius: celsius?.toNumber() ?? null,
        candling,
        when: uncertain(event),
      })),
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

  /** Threads with all messages, oldest first. The name of the other side is read only where both names are shown. */
  async findThreads(keeperId: string) {
    const rows = await this.database.client.askThread.findMany({
      where: { OR: [{ askerKeeperId: keeperId }, { holderKeeperId: keeperId }] },
      include: {
        messages: { orderBy: [{ sentAt: 'asc' }, { id: 'asc' }] },
        askerKeeper: { select: { name: true } },
        holderKeeper: { select: { name: true } },
      },
      orderBy: { id: 'asc' },
    });
    return rows.map((row) => {
      const side = row.askerKeeperId === keeperId ? ('asker' as const) : ('holder' as const);
      const other = side === 'asker' ? row.holderKeeper : row.askerKeeper;
      const shown = row.revealedAt !== null;
      return {
        side,
        other: shown ? other.name : null,
        animalId: row.animalId,
        aboutAnimalId: side === 'asker' || shown ? row.aboutAnimalId : null,
        openedAt: row.openedAt.toISOString(),
        closedAt: row.closedAt?.toISOString() ?? null,
        messages: row.messages.map((message) => ({
          own: message.side === side,
          text: message.text,
          sentAt: message.sentAt.toISOString(),
        })),
      };
    });
  }

  /** What the keeper stated of thefts, and what was stated to it. The reference of the police is its reporter's alone. */
  async findThefts(keeperId: string) {
    const rows = await this.database.client.theftReport.findMany({
      where: { OR: [{ keeperId }, { respondentId: keeperId }] },
      orderBy: { id: 'asc' },
    });
    return rows.map((row) => {
      const side = row.keeperId === keeperId ? ('reporter' as const) : ('respondent' as const);
      const { animalId, policeInformed, statement, reply } = row;
      return {
        side,
        animalId,
        policeInformed,
        policeReference: side === 'reporter' ? row.policeReference : null,
        statement,
        reportedAt: row.reportedAt.toISOString(),
        reply,
        repliedAt: row.repliedAt?.toISOString() ?? null,
        closedAt: row.closedAt?.toISOString() ?? null,
      };
    });
  }

  /** Offices and mails are the account's own, whatever keeper is exported. */
  async findOffices(accountId: string) {
    const rows = await this.database.client.office.findMany({
      where: { accountId },
      include: { club: { select: { name: true } }, taxon: { select: { scientificName: true } } },
      orderBy: { id: 'asc' },
    });
    return rows.map(({ club, region, taxon, validFrom, validTo }) => ({
      club: club.name,
      region,
      scientificName: taxon?.scientificName ?? null,
      from: fromDateColumn(validFrom),
      to: day(validTo),
    }));
  }

  async findMails(accountId: string) {
    const rows = await this.database.client.mailMessage.findMany({
      where: { accountId },
      select: { subject: true, text: true, createdAt: true },
      orderBy: [{ createdAt: 'asc' }, { id: 'asc' }],
    });
    return rows.map((row) => ({ ...row, createdAt: row.createdAt.toISOString() }));
  }
}
