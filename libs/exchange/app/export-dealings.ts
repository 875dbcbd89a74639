import { Injectable } from '@nestjs/common';
import { AnimalReadStore } from '../../animal/index.js';
import { type Viewer } from '../../kernel/index.js';
import { type ExportDocument } from '../document/export-document.schema.js';
import { ExportDealingsStore } from '../store/export-dealings.store.js';
import { numberOf } from './export-animals.js';

type Dealings = Pick<
  ExportDocument,
  'transfers' | 'papers' | 'threads' | 'theftReports' | 'ownershipClaims' | 'eggsHeld' | 'outsideParties'
>;

/** Reads what a keeper had to do with others. An animal the keeper may not see any more has no number. */
@Injectable()
export class ExportDealings {
  constructor(
    private readonly store: ExportDealingsStore,
    private readonly animals: AnimalReadStore,
  ) {}

  async read(viewer: Viewer, keeperId: string, accountIds: readonly string[]): Promise<Dealings> {
    const transfers = await this.store.findTransfers(keeperId);
    const papers = await this.store.findPapers(keeperId, accountIds);
    const threads = await this.store.findThreads(keeperId);
    const thefts = await this.store.findThefts(keeperId);
    const claims = await this.store.findOwnershipClaims(keeperId);
    const parties = await this.store.findOutsideParties(keeperId);
    const ids = [
      ...transfers.flatMap(({ items, breedingShown, loanClutches }) =>
        [...items, ...breedingShown, ...loanClutches.flatMap(({ young }) => young)].flatMap(
          ({ animalId }) => animalId ?? [],
        ),
      ),
      ...[...thefts, ...claims].map(({ animalId }) => animalId),
      ...threads.flatMap(({ animalId, aboutAnimalId }) => [
        animalId,
        ...(aboutAnimalId === null ? [] : [aboutAnimalId]),
      ]),
    ];
    const views = await this.animals.findVisible(viewer, [...new Set(ids)]);
    const number = (id: string | null): string | null => (id === null ? null : numberOf(views.get(id)));
    return {
      transfers: transfers.map((transfer) => ({
        ...transfer,
        breedingShown: transfer.breedingShown.map(({ animalId, ...shown }) => ({ animal: number(animalId), ...shown })),
        loanClutches: transfer.loanClutches.map(({ young, ...clutch }) => ({
          ...clutch,
          young: young.map(({ animalId, ...one }) => ({ animal: number(animalId), ...one })),
        })),
        items: transfer.items.map(({ animalId, ...item }) => ({ registerNumber: number(animalId), ...item })),
      })),
      papers: papers.map((paper) => ({ ...paper, issuedAt: paper.issuedAt.toISOString() })),
      threads: threads.map(({ animalId, aboutAnimalId, ...thread }) => ({
        animal: number(animalId),
        aboutAnimal: number(aboutAnimalId),
        ...thread,
      })),
      theftReports: thefts.map(({ animalId, ...report }) => ({ animal: number(animalId), ...report })),
      ownershipClaims: claims.map(({ animalId, ...claim }) => ({ animal: number(animalId), ...claim })),
      eggsHeld: await this.store.findEggsHeld(keeperId),
      outsideParties: parties.map((party) => ({ ...party, createdAt: party.createdAt.toISOString() })),
    };
  }
}
