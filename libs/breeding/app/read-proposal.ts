import { Injectable } from '@nestjs/common';
import { type Day, dayOf, notFound, type Viewer } from '../../kernel/index.js';
import { Clock } from '../../platform/clock.js';
import { Database, type Db, type Tx } from '../../platform/prisma/index.js';
import { type Weighing } from '../core/parent-candidates.core.js';
import { BreedingReadStore, type StoredClutch } from '../store/breeding-read.store.js';
import { type ClutchFacts, findClutch, readBounds, taxonOf } from '../store/clutch.store.js';
import { type ParentProposal, proposeParents } from './propose-parents.js';

/** Shows who can be the parents of a clutch, before young are registered. */
@Injectable()
export class ReadProposal {
  constructor(
    private readonly database: Database,
    private readonly breeding: BreedingReadStore,
    private readonly clock: Clock,
  ) {}

  /** NOT_FOUND for a clutch that is not shown to the viewer. */
  async execute(viewer: Viewer, clutchId: string, weighing: Weighing | null): Promise<ParentProposal> {
    const clutch = await this.breeding.findShown(viewer, clutchId);
    if (clutch === null) throw notFound('clutch');
    return this.ofShown(viewer, clutch, weighing);
  }

  /** The same of a clutch that was read for the viewer already. */
  async ofShown(viewer: Viewer, clutch: StoredClutch, weighing: Weighing | null): Promise<ParentProposal> {
    return proposalOf(this.database.client, viewer, clutch, weighing, dayOf(this.clock.now()));
  }
}

async function proposalOf(
  db: Db,
  viewer: Viewer,
  clutch: ClutchFacts,
  weighing: Weighing | null,
  today: Day,
): Promise<ParentProposal> {
  const taxonId = await taxonOf(db, clutch);
  const bounds = taxonId === null ? {} : await readBounds(db, taxonId);
  const laid = { earliest: clutch.laid?.earliest ?? null, latest: clutch.laid?.latest ?? clutch.foundOn };
  const { dams, originalId } = clutch;
  const question = { dams, taxonId: taxonId ?? '', laid, bounds, weighing, clutchId: originalId };
  return proposeParents(db, viewer, question, today);
}

/** Who the registry would name as possible sires of a clutch of the viewer, by what is on record now. */
export async function likelySires(tx: Tx, viewer: Viewer, clutchId: string): Promise<string[]> {
  const clutch = await findClutch(tx.db, clutchId);
  if (clutch === null) return [];
  const { sires } = await proposalOf(tx.db, viewer, clutch, null, tx.today);
  return sires.map(({ id }) => id);
}
