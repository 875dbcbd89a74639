import { Injectable } from '@nestjs/common';
import { type BookEntry, CustodyReadStore, stockBook } from '../../custody/index.js';
import { day, dayOf, type Viewer } from '../../kernel/index.js';
import { Clock } from '../../platform/clock.js';
import { type ExportDocument, exportDocument } from '../document/export-document.schema.js';
import { ExportAnimals } from './export-animals.js';
import { ExportDealings } from './export-dealings.js';
import { ExportPerson } from './export-person.js';
import { ExportRecords } from './export-records.js';

/** Before every day a stock book can have. */
const FIRST_DAY = day('0001-01-01');

/** Gives a keeper everything the registry holds of it, as one document. */
@Injectable()
export class ExportOwn {
  constructor(
    private readonly people: ExportPerson,
    private readonly animals: ExportAnimals,
    private readonly records: ExportRecords,
    private readonly dealings: ExportDealings,
    private readonly custody: CustodyReadStore,
    private readonly clock: Clock,
  ) {}

  /** NOT_FOUND for a keeper the viewer does not act for, FORBIDDEN for a helper. */
  async execute(viewer: Viewer, keeperId: string): Promise<ExportDocument> {
    const { alone, accountIds, person } = await this.people.read(viewer, keeperId);
    const now = this.clock.now();
    const held = await this.custody.readBook(keeperId);
    const book = stockBook(held, FIRST_DAY, dayOf(now));
    return exportDocument.parse({
      schemaVersion: 3,
      exportedAt: now.toISOString(),
      ...person,
      animals: await this.animals.read(alone, keeperId, held, accountIds),
      ...(await this.records.read(alone, keeperId, accountIds)),
      ...(await this.dealings.read(alone, keeperId, accountIds)),
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
