import { Args, ID, Mutation, Query, Resolver } from '@nestjs/graphql';
import { isId, notFound, type Viewer } from '../../kernel/index.js';
import {
  Authorize,
  type ConnectionOf,
  CurrentViewer,
  foreignCursor,
  PageArgs,
  parseInput,
  toConnection,
  toPage,
} from '../../platform/graphql/index.js';
import { Database } from '../../platform/prisma/index.js';
import { TransferStore } from '../store/transfer.store.js';
import { PickYoung, pickYoungCommand } from './pick-young.js';
import { type DividedLoan, readDividedLoan, readTallies, readYoungPage } from './split.store.js';
import {
  LoanClutchConnection,
  type LoanClutchType,
  LoanYoungConnection,
  type LoanYoungType,
  PickYoungInput,
  PickYoungPayload,
  toLoanClutchType,
  toLoanYoungType,
} from './split.types.js';
import { splitClutches } from './split-state.core.js';

/** Whose the young of a loan are: its clutches, what is left to pick, and whose turn it is. */
@Resolver()
export class SplitResolver {
  constructor(
    private readonly database: Database,
    private readonly transfers: TransferStore,
    private readonly pick: PickYoung,
  ) {}

  @Query(() => LoanClutchConnection, {
    description: 'Clutches whose young are divided by the terms of a loan, in their order. For its two parties.',
  })
  @Authorize('transfer.read')
  async loanClutches(
    @CurrentViewer() viewer: Viewer,
    @Args('transferId', { type: () => ID }) transferId: string,
    @Args() args: PageArgs,
  ): Promise<ConnectionOf<LoanClutchType>> {
    const page = toPage(args, 1);
    const after = page.after === null ? 0 : Number(page.after[0]);
    if (!Number.isSafeInteger(after)) throw foreignCursor();
    const clutches = (await this.clutches(await this.loanOf(viewer, transferId))).filter(
      ({ number }) => number > after,
    );
    return toConnection(
      clutches.slice(0, page.first + 1),
      page.first,
      ({ number }) => [String(number)],
      (clutch) => clutch,
    );
  }

  @Query(() => LoanYoungConnection, {
    description: 'The young of a clutch of a loan, and who picked which. For the two parties of the loan.',
  })
  @Authorize('transfer.read')
  async loanYoung(
    @CurrentViewer() viewer: Viewer,
    @Args('transferId', { type: () => ID }) transferId: string,
    @Args('clutchId', { type: () => ID }) clutchId: string,
    @Args() args: PageArgs,
  ): Promise<ConnectionOf<LoanYoungType>> {
    const page = toPage(args, 1);
    const [after = null] = page.after ?? [];
    if (after !== null && !isId(after)) throw foreignCursor();
    await this.loanOf(viewer, transferId);
    if (!isId(clutchId)) throw notFound('clutch');
    const young = await readYoungPage(this.database.client, { transferId, clutchId }, page.first, after);
    return toConnection(young, page.first, ({ animalId }) => [animalId], toLoanYoungType);
  }

  @Mutation(() => PickYoungPayload, {
    description:
      'The side whose turn it is picks young of a clutch of a loan: they are its property from today. They stay where they are; a loan_return brings them home.',
  })
  @Authorize('transfer.pick-young')
  async pickYoung(@CurrentViewer() viewer: Viewer, @Args('input') input: PickYoungInput): Promise<PickYoungPayload> {
    const { transferId, clutchId } = await this.pick.execute(viewer, parseInput(pickYoungCommand, input));
    const clutches = await this.clutches(await this.loanOf(viewer, transferId));
    const clutch = clutches.find((each) => each.clutchId === clutchId);
    if (clutch === undefined) throw notFound('clutch');
    return { clutch };
  }

  /** The loan, for its parties; null where its young are not divided. Throws NOT_FOUND. */
  private async loanOf(viewer: Viewer, transferId: string): Promise<DividedLoan | null> {
    if (!isId(transferId)) throw notFound('transfer');
    const { transfer } = await this.transfers.getVisible(viewer, transferId);
    return readDividedLoan(this.database.client, transfer.id);
  }

  private async clutches(loan: DividedLoan | null): Promise<LoanClutchType[]> {
    if (loan === null) return [];
    const clutches = splitClutches(loan.split, await readTallies(this.database.client, loan));
    return clutches.map((clutch) => toLoanClutchType(clutch, loan.split.oddOne === 'paid_out'));
  }
}
