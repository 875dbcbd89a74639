import { Module } from '@nestjs/common';
import { AccountStore } from './account.store.js';
import { AppointCoordinator } from './appoint-coordinator.js';
import { EndOffice } from './end-office.js';
import { LocalStrategy } from './local.strategy.js';
import { MailStore } from './mail.store.js';
import { MembershipResolver } from './membership.resolver.js';
import { NoticeResolver } from './notice.resolver.js';
import { NoticeStore } from './notice.store.js';
import { OfficeResolver } from './office.resolver.js';
import { OfficeStore } from './office.store.js';
import { OpenAccount } from './open-account.js';
import { SetSharing } from './set-sharing.js';
import { SharingResolver } from './sharing.resolver.js';
import { SignIn } from './sign-in.js';
import { Viewers } from './viewers.js';

@Module({
  providers: [
    AccountStore,
    AppointCoordinator,
    EndOffice,
    LocalStrategy,
    MailStore,
    MembershipResolver,
    NoticeResolver,
    NoticeStore,
    OfficeResolver,
    OfficeStore,
    OpenAccount,
    SetSharing,
    SharingResolver,
    SignIn,
    Viewers,
  ],
  exports: [AccountStore, NoticeStore, OfficeStore, OpenAccount, Viewers],
})
export class MembershipModule {}
