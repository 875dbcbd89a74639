import { Injectable } from '@nestjs/common';
import { AnimalReadStore } from '../../animal/index.js';
import { type Viewer } from '../../kernel/index.js';
import { type ExportDocument } from '../document/export-document.schema.js';
import { ExportRecordsStore } from '../store/export-records.store.js';
import { moment } from '../store/uncertain.js';
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
  | 'corrections'
>;

/** Reads what a keeper recorded beside the animals themselves. An animal the keeper may not see any more has no number. */
@Injectable()
export class ExportRecords {
  constructor(
    private readonly store: ExportRecordsStore,
    private readonly animals: AnimalReadStore,
  ) {}

  async read(viewer: Viewer, keeperId: string, accountIds: readonly string[]): Promise<Records> {
    const documents = await this.store.findDocuments(keeperId);
    const enclosures = await this.store.findEnclosures(keeperId);
    const matings = await this.store.findMatings(keeperId);
    const pairings = await this.store.findPairings(keeperId);
    const clutches = await this.store.findClutches(keeperId);
    const quarantines = await this.store.findQuarantines(keeperId);
    const availability = await this.store.findAvailability(keeperId);
    const corrections = await this.store.findCorrections(keeperId, accountIds);
    const ids = [
      ...corrections.flatMap(({ animalId }) => animalId ?? []),
      ...documents.flatMap(({ covers }) => covers.flatMap(({ animalId }) => animalId ?? [])),
      ...[...enclosures, ...quarantines].flatMap(({ stays }) => stays.map(({ animalId }) => animalId)),
      ...matings.flatMap(({ damId, sireId }) => (sireId === null ? [damId] : [damId, sireId])),
      ...pairings.flatMap(({ damId, sireId }) => [damId, sireId]),
      ...clutches.flatMap(({ dams, hatchings }) => [
        ...dams.map(({ damId }) => damId),
        ...hatchings.map(({ animalId }) => animalId),
      ]),
      ...availability.map(({ animalId }) => animalId),
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
      corrections: corrections.map(({ animalId, recordedAt, supersededAt, ...correction }) => ({
        ...correction,
        animal: number(animalId),
        recordedAt: recordedAt.toISOString(),
        supersededAt: moment(supersededAt),
      })),
    };
  }
}
