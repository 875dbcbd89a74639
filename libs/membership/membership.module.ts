import { Module } from '@nestjs/common';
import { AccountStore } from './store/account.store.js';
import { AppointCoordinator } from './app/appoint-coordinator.js';
import { ChangeMembers } from './app/change-members.js';
import { HandOverOffice } from './app/hand-over-office.js';
import { InviteToClub } from './app/invite-to-club.js';
import { ClubInvitationResolver } from './graphql/club-invitation.resolver.js';
import { InviteToKeeper } from './app/invite-to-keeper.js';
import { JoinClub } from './app/join-club.js';
import { LeaveClub } from './app/leave-club.js';
import { ChooseMails } from './app/choose-mails.js';
import { ClubResolver } from './graphql/club.resolver.js';
import { OpenKeeper } from './app/open-keeper.js';
import { MarkNoticesRead } from './app/mark-notices-read.js';
import { MemberResolver } from './graphql/member.resolver.js';
import { MemberStore } from './store/member.store.js';
import { CorrectMinority } from './app/correct-minority.js';
import { EndOffice } from './app/end-office.js';
import { ChangePassword } from './session/change-password.js';
import { ConfirmEmail } from './session/confirm-email.js';
import { EndSession } from './session/end-session.js';
import { RenewSession } from './session/renew-session.js';
import { SessionStore } from './session/session.store.js';
import { SignInLimits } from './session/sign-in-limits.js';
import { AccountResolver } from './graphql/account.resolver.js';
import { SessionResolver } from './graphql/session.resolver.js';
import { LocalStrategy } from './session/local.strategy.js';
import { MailChoiceStore } from './store/mail-choice.store.js';
import { MailStopController } from './graphql/mail-stop.controller.js';
import { MailStore } from './store/mail.store.js';
import { MembershipResolver } from './graphql/membership.resolver.js';
import { NoticeLiveResolver } from './graphql/notice-live.resolver.js';
import { NoticeReadStore } from './store/notice-read.store.js';
import { NoticeResolver } from './graphql/notice.resolver.js';
import { NoticeStore } from './store/notice.store.js';
import { OfficeResolver } from './graphql/office.resolver.js';
import { OfficeStore } from './store/office.store.js';
import { OpenAccount } from './app/open-account.js';
import { SetSharing } from './app/set-sharing.js';
import { SharingResolver } from './graphql/sharing.resolver.js';
import { SignIn } from './session/sign-in.js';
import { StopLinks } from './session/stop-links.js';
import { Viewers } from './session/viewers.js';

@Module({
  controllers: [MailStopController],
  providers: [
    AccountResolver,
    AccountStore,
    AppointCoordinator,
    ChangeMembers,
    ChangePassword,
    ChooseMails,
    CorrectMinority,
    ClubResolver,
    ClubInvitationResolver,
    ConfirmEmail,
    EndOffice,
    EndSession,
    HandOverOffice,
    InviteToClub,
    InviteToKeeper,
    JoinClub,
    LeaveClub,
    LocalStrategy,
    MailChoiceStore,
    MailStore,
    MarkNoticesRead,
    MemberResolver,
    MemberStore,
    MembershipResolver,
    NoticeLiveResolver,
    NoticeReadStore,
    NoticeResolver,
    NoticeStore,
    OfficeResolver,
    OfficeStore,
    OpenAccount,
    OpenKeeper,
    RenewSession,
    SessionResolver,
    SessionStore,
    SetSharing,
    SharingResolver,
    SignIn,
    SignInLimits,
    StopLinks,
    Viewers,
  ],
  exports: [AccountStore, NoticeStore, OfficeStore, OpenAccount, SignInLimits, Viewers],
})
export class MembershipModule {}
