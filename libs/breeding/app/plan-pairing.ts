import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { getForWrite, lockAnimals, requireAuthority } from '../../animal/index.js';
import { type Day, decide, notFound, staleVersion, type Viewer } from '../../kernel/index.js';
import { getVisibleParent } from '../../lineage/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { decidePairing, movePairing, PAIRING_STATES, type PairingState } from '../core/pairing.core.js';
import { findOwnPairing, insertPairing, setPairingState } from '../store/pairing.store.js';

export type PlanPairingCommand = {
  readonly damId: string;
  readonly sireId: string;
  readonly from: Day;
  readonly until: Day | null;
  readonly note: string | null;
};

export type MovePairingCommand = {
  readonly pairingId: string;
  readonly state: PairingState;
  /** The version the viewer read; null = whatever it is now. */
  readonly version: number | null;
};

const pairingPlanned = defineLedgerAction(
  'breeding.pairing-planned',
  1,
  z.strictObject({
    pairingId: z.uuid(),
    keeperId: z.uuid(),
    damId: z.uuid(),
    sireId: z.uuid(),
    from: z.string(),
    until: z.string().nullable(),
  }),
);

const pairingMoved = defineLedgerAction(
  'breeding.pairing-moved',
  1,
  z.strictObject({ pairingId: z.uuid(), keeperId: z.uuid(), state: z.enum(PAIRING_STATES) }),
);

const outcome = z.object({ pairingId: z.uuid() });

/** Plans a pairing and moves the plan on. It says what is meant to happen and is evidence of nothing. */
@Injectable()
export class PlanPairing {
  constructor(private readonly uow: UnitOfWork) {}

  /** NOT_FOUND (dam or sire not visible), FORBIDDEN, BREEDING_*, PAIRING_DAYS_REVERSED. */
  async execute(viewer: Viewer, command: PlanPairingCommand): Promise<{ pairingId: string }> {
    const request = { action: 'breeding.plan-pairing', input: command, outcome };
    return this.uow.write(viewer, request, async (tx) => {
      const { damId, sireId, from, until, note } = command;
      await lockAnimals(tx, [damId, sireId]);
      const { keeperId } = await requireAuthority(tx, viewer, damId);
      const dam = await getForWrite(tx, damId);
      const sire = await getVisibleParent(tx, viewer, sireId);
      const possible = decidePairing({ dam, sire, from, until }, tx.today);
      if (!possible.ok) return possible;
      const pairingId = await insertPairing(tx, { keeperId, damId, sireId, from, until, note });
      await tx.ledger.append(pairingPlanned, {
        subjects: [damId, sireId],
        body: { pairingId, keeperId, damId, sireId, from, until },
        personal: note === null ? {} : { note },
      });
      return decide({ pairingId });
    });
  }

  /** NOT_FOUND, STALE_VERSION, PAIRING_STATE. */
  async move(viewer: Viewer, command: MovePairingCommand): Promise<{ pairingId: string }> {
    const request = { action: 'breeding.move-pairing', input: command, outcome };
    return this.uow.write(viewer, request, async (tx) => {
      const keepers = viewer.keepers.map((keeper) => keeper.keeperId);
      const plan = await findOwnPairing(tx, keepers, command.pairingId);
      if (plan === null) throw notFound('pairing');
      const { version: current } = plan;
      if (command.version !== null && command.version !== current)
        throw staleVersion('pairing', { expected: command.version, current });
      const moved = movePairing(plan.state, command.state);
      if (!moved.ok) return moved;
      const over = command.state === 'ended' && (plan.until === null || plan.until > tx.today);
      const until = over && tx.today >= plan.from ? tx.today : plan.until;
      if (!(await setPairingState(tx, plan, command.state, until))) throw staleVersion('pairing');
      await tx.ledger.append(pairingMoved, {
        subjects: [plan.damId, plan.sireId],
        body: { pairingId: plan.id, keeperId: plan.keeperId, state: command.state },
      });
      return decide({ pairingId: plan.id });
    });
  }
}
