import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { getNamed } from '../../animal/index.js';
import { findOwnEnclosure } from '../../housing/index.js';
import { decide, type Decision, notFound, type UncertainDay, type Viewer } from '../../kernel/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { type Tx, UnitOfWork } from '../../platform/prisma/index.js';
import { type BreedingWarning } from '../core/bounds.core.js';
import {
  CANDLINGS,
  type Candling,
  decideEggEvents,
  EGG_EVENTS,
  type EggEvent,
  type EggEventKind,
  isEnd,
} from '../core/egg.core.js';
import { temperatureWarnings } from '../core/plausibility.core.js';
import { type ClutchFacts, readBounds } from '../store/clutch.store.js';
import { eggEventsOf, ensureEggs, insertEggEvents, readEggs } from '../store/egg.store.js';
import { breedingWarnings } from './breeding-warnings.js';
import { meantEggs, takeClutch } from './meant-eggs.js';
import { decideNumbers } from './open-eggs.js';

export type RecordEggEventsCommand = {
  readonly clutchId: string;
  /** Numbers of the eggs; null = every egg that is left. */
  readonly eggs: readonly number[] | null;
  readonly kind: EggEventKind;
  readonly when: UncertainDay | null;
  readonly enclosureId: string | null;
  readonly incubator: string | null;
  readonly celsius: number | null;
  /** Given for a candling and for nothing else. */
  readonly candling: Candling | null;
};

const eggEventsRecorded = defineLedgerAction(
  'breeding.egg-events-recorded',
  1,
  z.strictObject({
    clutchId: z.uuid(),
    keeperId: z.uuid(),
    eggs: z.array(z.int()).nullable(),
    eventIds: z.array(z.uuid()),
    kind: z.enum(EGG_EVENTS),
    enclosureId: z.uuid().nullable(),
    celsius: z.number().nullable(),
    candling: z.enum(CANDLINGS).nullable(),
    earliest: z.string().nullable(),
    latest: z.string().nullable(),
  }),
);

const outcome = z.object({ clutchId: z.uuid(), warnings: breedingWarnings });
const ANY = { earliest: null, latest: null };

/** Records what happened to some eggs of a clutch, or to all that were left, in one act. */
@Injectable()
export class RecordEggEvents {
  constructor(private readonly uow: UnitOfWork) {}

  /** NOT_FOUND for a clutch no keeper of the viewer recorded or has eggs of, or another's enclosure; CLUTCH_WITHOUT_EGGS, EGG_*, EGGS_*, DAY_IN_FUTURE. */
  async execute(
    viewer: Viewer,
    command: RecordEggEventsCommand,
  ): Promise<{ clutchId: string; warnings: BreedingWarning[] }> {
    const request = { action: 'breeding.record-egg-events', input: command, outcome };
    return this.uow.write(viewer, request, async (tx) => {
      const taken = await takeClutch(tx, viewer, command.clutchId);
      const { clutch } = taken;
      const meant = meantEggs(viewer, taken, { numbers: command.eggs, ending: isEnd(command.kind) });
      if (!meant.ok) return meant;
      const { keeperId, numbers } = meant.value;
      if (command.enclosureId !== null) {
        const enclosure = await findOwnEnclosure(tx, [keeperId], command.enclosureId);
        if (enclosure === null) throw notFound('enclosure');
      }
      const written = await writeEggEvents(tx, clutch, { ...command, eggs: numbers }, keeperId);
      if (!written.ok) return written;
      const { kind, enclosureId, celsius, candling, when } = command;
      await tx.ledger.append(eggEventsRecorded, {
        subjects: [clutch.originalId, ...clutch.dams.map((dam) => dam.id)],
        body: {
          clutchId: clutch.originalId,
          keeperId,
          eggs: numbers === null ? null : [...numbers],
          eventIds: written.value,
          kind,
          enclosureId,
          celsius,
          candling,
          earliest: when?.earliest ?? null,
          latest: when?.latest ?? null,
        },
        personal: command.incubator === null ? {} : { incubator: command.incubator },
      });
      const dam = clutch.dams[0];
      const bounds = dam === undefined ? {} : await readBounds(tx.db, (await getNamed(tx, dam.id)).taxonId);
      return decide({ clutchId: clutch.id, warnings: temperatureWarnings(celsius, bounds) });
    });
  }
}

/** Adds one event, for a keeper, to eggs of a locked clutch after checking what it means for each. Gives the events' ids. */
export async function writeEggEvents(
  tx: Tx,
  clutch: ClutchFacts,
  event: Omit<RecordEggEventsCommand, 'clutchId'>,
  keeperId: string,
): Promise<Decision<string[]>> {
  const numbers = event.eggs === null ? null : [...new Set(event.eggs)].toSorted((a, b) => a - b);
  // An event of all eggs needs a clutch that has some.
  const possible = decideNumbers(clutch, numbers ?? [1]);
  if (!possible.ok) return possible;
  const known = await eggEventsOf(tx, clutch.originalId);
  const ids: ReadonlyMap<number, string | null> =
    numbers === null ? new Map() : await ensureEggs(tx, clutch.originalId, numbers);
  const fresh = (id: string): EggEvent => ({
    id,
    kind: event.kind,
    wholeClutch: numbers === null,
    when: event.when ?? ANY,
    recorded: tx.now.getTime(),
  });
  const lives =
    numbers === null
      ? [{ id: '', number: 1 }, ...(await readEggs(tx.db, [clutch.originalId]))]
      : [...ids].map(([number, id]) => ({ id: id ?? '', number }));
  for (const { id, number } of lives) {
    const own = known.filter((each) => each.eggId === id || each.eggId === null);
    const life = { number, events: [...own, fresh(id)], laid: clutch.laid ?? ANY };
    const decided = decideEggEvents(life, tx.today);
    if (!decided.ok) return decided;
  }
  const { kind, when, enclosureId, incubator, celsius, candling } = event;
  const details = {
    clutchId: clutch.originalId,
    keeperId: keeperId === clutch.keeperId ? null : keeperId,
    ...{ kind, when, enclosureId, incubator, celsius, candling },
  };
  const eggIds = numbers === null ? [null] : [...ids.values()];
  return decide(
    await insertEggEvents(
      tx,
      eggIds.map((eggId) => ({ ...details, eggId })),
    ),
  );
}
