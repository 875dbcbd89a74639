import { Injectable } from '@nestjs/common';
import { type BookEntry, CustodyReadStore, stockBook } from '../../custody/index.js';
import { actsFor, day, dayOf, forbidden, notFound, owns, type Viewer } from '../../kernel/index.js';
import { AccountStore } from '../../membership/index.js';
import { Clock } from '../../platform/clock.js';
import { type ExportDocument, exportDocument } from '../export-document.schema.js';
import { ExportStore } from '../store/export.store.js';
import { ExportAnimals } from './export-animals.js';
import { ExportRecords } from './export-records.js';

/** Before every day a stock book can have. */
const FIRST_DAY = day('0001-01-01');

/** Gives a keeper everything the registry holds of it, as one document. */
@Injectable()
export class ExportOwn {
  constructor(
    private readonly accounts: AccountStore,
    private readonly custody: CustodyReadStore,
    private readonly exportAnimals: ExportAnimals,
    private readonly store: ExportStore,
    private readonly records: ExportRecords,
    private readonly clock: Clock,
  ) {}

  /** NOT_FOUND for a keeper the viewer does not act for, FORBIDDEN for a helper: prices and contacts are the owner's. */
  async execute(viewer: Viewer, keeperId: string): Promise<ExportDocument> {
    if (!actsFor(viewer, keeperId)) throw notFound('keeper');
    if (!owns(viewer, keeperId)) throw forbidden('Only an owner of the keeper takes its records out.');
    const keeper = (await this.accounts.findOwnKeepers(viewer)).find((each) => each.id === keeperId);
    if (keeper === undefined) throw notFound('keeper');
    // What this keeper may read, whatever other keepers the account acts for.
    const alone: Viewer = {
      ...viewer,
      keepers: viewer.keepers.filter((each) => each.keeperId === keeperId),
      clubIds: keeper.clubs.map((club) => club.id),
    };
    const now = this.clock.now();
    const accountIds = await this.store.findAccountIds(keeperId);
    const held = await this.custody.readBook(keeperId);
    const book = stockBook(held, FIRST_DAY, dayOf(now));
    const papers = await this.store.findPapers(keeperId, accountIds);
    const notices = await this.store.findNotices(keeperId);
    const outsideParties = await this.store.findOutsideParties(keeperId);
    return exportDocument.parse({
      schemaVersion: 1,
      exportedAt: now.toISOString(),
      account: { email: (await this.accounts.getEmail(viewer)).email },
      keeper: {
        id: keeper.id,
        name: keeper.name,
        kind: keeper.kind,
        region: keeper.region,
        holdingsShown: keeper.holdingsShown,
        lineageShared: keeper.lineageShared,
      },
      clubs: keeper.clubs.map(({ slug, name }) => ({ slug, name })),
      animals: await this.exportAnimals.read(alone, keeperId, held, accountIds),
      ...(await this.records.read(alone, keeperId)),
      transfers: await this.records.transfers(alone, keeperId),
      papers: papers.map((paper) => ({ ...paper, issuedAt: paper.issuedAt.toISOString() })),
      notices: notices.map((notice) => ({ ...notice, createdAt: notice.createdAt.toISOString() })),
      outsideParties: outsideParties.map((party) => ({ ...party, createdAt: party.createdAt.toISOString() })),
      stockBook: {
        asOf: dayOf(now),
        arrivals: book.arrivals.map(toBookLine),
        departures: book.departures.map(toBookLine),
        closing: book.closing,
        unaccounted: book.unaccounted,
      },
    } satisfies ExportDocument);
  }
}

function toBookLine({ day: on, registerNumber, count, estimated, cause, counterparty }: BookEntry) {
  return { day: on, registerNumber, count, estimated, cause, counterparty };
}
