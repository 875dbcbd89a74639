import { Module } from '@nestjs/common';
import { AccountStore } from './account.store.js';
import { LocalStrategy } from './local.strategy.js';
import { MembershipResolver } from './membership.resolver.js';
import { NoticeStore } from './notice.store.js';
import { OpenAccount } from './open-account.js';
import { SignIn } from './sign-in.js';
import { Viewers } from './viewers.js';

@Module({
  providers: [AccountStore, LocalStrategy, MembershipResolver, NoticeStore, OpenAccount, SignIn, Viewers],
  exports: [AccountStore, NoticeStore, OpenAccount, Viewers],
})
export class MembershipModule {}
