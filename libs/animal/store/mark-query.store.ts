import { Injectable } from '@nestjs/common';
import { Database, type Db } from '../../platform/prisma/index.js';
import { type Fate } from '../core/fact.core.js';
import { type ASKED_KINDS, CHIP_KINDS, matchValueOf } from '../core/mark.core.js';

/** An animal that carries a mark. For the registry's own use: nothing of it is shown but what `answerAbout` says. */
export type MarkCarrier = { readonly id: string; readonly registerNumber: string; readonly fate: Fate };

/** Looks marks up without a viewer's scope. */
@Injectable()
export class MarkQueryStore {
  constructor(private readonly database: Database) {}

  /** The animals that carry the mark now, merged records apart; a chip is found under either kind. */
  async findCarriers(
    mark: { readonly kind: (typeof ASKED_KINDS)[number]; readonly value: string },
    db: Pick<Db, 'animalMark'> = this.database.client,
  ): Promise<MarkCarrier[]> {
    const kinds = CHIP_KINDS.includes(mark.kind) ? [...CHIP_KINDS] : [mark.kind];
    const rows = await db.animalMark.findMany({
      where: {
        kind: { in: kinds },
        matchValue: matchValueOf(mark.kind, mark.value) ?? '',
        supersededAt: null,
        untilEdtf: null,
        animal: { mergedIntoId: null },
      },
      select: { animal: { select: { id: true, registerNumber: true, fate: true } } },
      distinct: ['animalId'],
      orderBy: { animalId: 'asc' },
      take: 100,
    });
    return rows.map(({ animal }) => animal);
  }
}
