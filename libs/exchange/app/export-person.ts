import { Injectable } from '@nestjs/common';
import { actsFor, forbidden, notFound, owns, type Viewer } from '../../kernel/index.js';
import { AccountStore } from '../../membership/index.js';
import { type ExportDocument } from '../document/export-document.schema.js';
import { ExportPersonStore } from '../store/export-person.store.js';

type Person = Pick<
  ExportDocument,
  | 'account'
  | 'keeper'
  | 'people'
  | 'invitations'
  | 'clubs'
  | 'clubApplications'
  | 'clubInvitations'
  | 'collections'
  | 'sharing'
  | 'readingGrants'
  | 'offices'
  | 'mails'
  | 'notices'
>;

/** Reads a keeper, its people and clubs, and what the account that asks has of its own. */
@Injectable()
export class ExportPerson {
  constructor(
    private readonly accounts: AccountStore,
    private readonly store: ExportPersonStore,
  ) {}

  /**
   * Also the viewer as if it acted for this keeper alone, and the accounts that act or acted for it. NOT_FOUND for a keeper the
   * viewer does not act for, FORBIDDEN for a helper: prices and contacts are the owner's.
   */
  async read(viewer: Viewer, keeperId: string): Promise<{ alone: Viewer; accountIds: string[]; person: Person }> {
    if (!actsFor(viewer, keeperId)) throw notFound('keeper');
    if (!owns(viewer, keeperId)) throw forbidden('Only an owner of the keeper takes its records out.');
    const keeper = (await this.accounts.findOwnKeepers(viewer)).find((each) => each.id === keeperId);
    if (keeper === undefined) throw notFound('keeper');
    const { id, name, kind, region, holdingsShown, lineageShared, clubs } = keeper;
    const { minorUntil, accountIds, ...people } = await this.store.findKeeper(keeperId);
    const alone: Viewer = {
      ...viewer,
      keepers: viewer.keepers.filter((each) => each.keeperId === keeperId),
      clubIds: clubs.map((club) => club.id),
    };
    const person = {
      account: await this.store.findAccount(viewer.accountId),
      keeper: { id, name, kind, region, holdingsShown, lineageShared, minorUntil },
      ...people,
      clubInvitations: await this.store.findClubInvitations(keeperId, viewer.accountId),
      sharing: await this.store.findSharing(keeperId),
      readingGrants: await this.store.findReadingGrants(keeperId),
      offices: await this.store.findOffices(viewer.accountId),
      mails: await this.store.findMails(viewer.accountId),
      notices: await this.store.findNotices(keeperId),
    };
    return { alone, accountIds, person };
  }
}
