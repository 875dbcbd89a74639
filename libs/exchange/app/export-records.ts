import { Injectable } from '@nestjs/common';
import { AnimalReadStore } from '../../animal/index.js';
import { type Viewer } from '../../kernel/index.js';
import { type ExportDocument } from '../export-document.schema.js';
import { ExportRecordsStore } from '../store/export-records.store.js';
import { ExportStore } from '../store/export.store.js';
import { numberOf } from './export-animals.js';

type Records = Pick<
  ExportDocument,
  | 'documents'
  | 'enclosures'
  | 'matings'
  | 'pairings'
  | 'clutches'
  | 'quarantines'
  | 'breedingAvailability'
  | 'threads'
  | 'theftReports'
  | 'offices'
  | 'mails'
>;

/** Reads what a keeper recorded beside the animals themselves. An animal the keeper may not see any more has no number. */
@Injectable()
export class ExportRecords {
  constructor(
    private readonly store: ExportRecordsStore,
    private readonly own: ExportStore,
    private readonly animals: AnimalReadStore,
  ) {}

  async read(viewer: Viewer, keeperId: string): Promise<Records> {
    const documents = await this.store.findDocuments(keeperId);
    const enclosures = await this.store.findEnclosures(keeperId);
    const matings = await this.store.findMatings(keeperId);
    const pairings = await this.store.findPairings(keeperId);
    const clutches = await this.store.findClutches(keeperId);
    const quarantines = await this.store.findQuarantines(keeperId);
    const availability = await this.store.findAvailability(keeperId);
    const threads = await this.store.findThreads(keeperId);
    const thefts = await this.store.findThefts(keeperId);
    const ids = [
      ...thefts.map(({ animalId }) => animalId),
      ...documents.flatMap(({ covers }) => covers.flatMap(({ animalId }) => animalId ?? [])),
      ...[...enclosures, ...quarantines].flatMap(({ stays }) => stays.map(({ animalId }) => animalId)),
      ...matings.flatMap(({ damId, sireId }) => (sireId === null ? [damId] : [damId, sireId])),
      ...pairings.flatMap(({ damId, sireId }) => [damId, sireId]),
      ...clutches.flatMap(({ dams, hatchings }) => [
        ...dams.map(({ damId }) => damId),
        ...hatchings.map(({ animalId }) => animalId),
      ]),
      ...availability.map(({ animalId }) => animalId),
      ...threads.flatMap(({ animalId, aboutAnimalId }) =>
        aboutAnimalId === null ? [animalId] : [animalId, aboutAnimalId],
      ),
    ];
    const views = await this.animals.findVisible(viewer, [...new Set(ids)]);
    const number = (id: string | null): string | null => (id === null ? null : numberOf(views.get(id)));
    const stay = ({ animalId, ...days }: { animalId: string; from: string; to: string | null }) => ({
      animal: number(animalId),
      ...days,
    });
    return {
      documents: documents.map((document) => ({
        ...document,
        covers: document.covers.map(({ animalId, ...cover }) => ({ animal: number(animalId), ...cover })),
      })),
      enclosures: enclosures.map((enclosure) => ({ ...enclosure, stays: enclosure.stays.map(stay) })),
      matings: matings.map(({ damId, sireId, ...mating }) => ({ dam: number(damId), sire: number(sireId), ...mating })),
      pairings: pairings.map(({ damId, sireId, ...plan }) => ({ dam: number(damId), sire: number(sireId), ...plan })),
      clutches: clutches.map(({ dams, hatchings, ...clutch }) => ({
        dams: dams.map(({ damId, probability }) => ({ animal: number(damId), probability })),
        ...clutch,
        hatchings: hatchings.map(({ animalId, ...hatching }) => ({ animal: number(animalId), ...hatching })),
      })),
      quarantines: quarantines.map((quarantine) => ({ ...quarantine, stays: quarantine.stays.map(stay) })),
      breedingAvailability: availability.map(({ animalId, ...said }) => ({ animal: number(animalId), ...said })),
      threads: threads.map(({ animalId, aboutAnimalId, ...thread }) => ({
        animal: number(animalId),
        aboutAnimal: number(aboutAnimalId),
        ...thread,
      })),
      theftReports: thefts.map(({ animalId, ...report }) => ({ animal: number(animalId), ...report })),
      offices: await this.store.findOffices(viewer.accountId),
      mails: await this.store.findMails(viewer.accountId),
    };
  }

  /** The keeper's transfers, either way. */
  async transfers(viewer: Viewer, keeperId: string): Promise<ExportDocument['transfers']> {
    const transfers = await this.own.findTransfers(keeperId);
    const ids = transfers.flatMap((transfer) => transfer.items.map((item) => item.animalId));
    const views = await this.animals.findVisible(viewer, [...new Set(ids)]);
    return transfers.map((transfer) => ({
      ...transfer,
      offeredAt: transfer.offeredAt.toISOString(),
      acceptedAt: transfer.acceptedAt?.toISOString() ?? null,
      closedAt: transfer.closedAt?.toISOString() ?? null,
      takenUpAt: transfer.takenUpAt?.toISOString() ?? null,
      items: transfer.items.map(({ animalId, count, arrivals }) => ({
        registerNumber: numberOf(views.get(animalId)),
        count,
        arrivals,
      })),
    }));
  }
}
