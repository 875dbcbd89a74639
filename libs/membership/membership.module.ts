import { Module } from '@nestjs/common';
import { AccountStore } from './store/account.store.js';
import { AppointCoordinator } from './clubs/appoint-coordinator.js';
import { ChangeMembers } from './app/change-members.js';
import { HandOverOffice } from './clubs/hand-over-office.js';
import { InviteToClub } from './clubs/invite-to-club.js';
import { ClubInvitationResolver } from './clubs/club-invitation.resolver.js';
import { InviteToKeeper } from './app/invite-to-keeper.js';
import { JoinClub } from './clubs/join-club.js';
import { LeaveClub } from './clubs/leave-club.js';
import { ChooseMails } from './notices/choose-mails.js';
import { ClubListingResolver } from './clubs/club-listing.resolver.js';
import { ClubListingStore } from './clubs/club-listing.store.js';
import { SetClubListing } from './clubs/set-club-listing.js';
import { ClubResolver } from './clubs/club.resolver.js';
import { OpenKeeper } from './app/open-keeper.js';
import { MarkNoticesRead } from './notices/mark-notices-read.js';
import { KeeperResolver } from './graphql/keeper.resolver.js';
import { MemberResolver } from './graphql/member.resolver.js';
import { MemberStore } from './store/member.store.js';
import { CorrectMinority } from './app/correct-minority.js';
import { EndOffice } from './clubs/end-office.js';
import { ChangePassword } from './session/change-password.js';
import { ConfirmEmail } from './session/confirm-email.js';
import { EndSession } from './session/end-session.js';
import { RenewSession } from './session/renew-session.js';
import { SessionStore } from './session/session.store.js';
import { SignInLimits } from './session/sign-in-limits.js';
import { AccountResolver } from './graphql/account.resolver.js';
import { SessionResolver } from './graphql/session.resolver.js';
import { LocalStrategy } from './session/local.strategy.js';
import { MailChoiceStore } from './notices/mail-choice.store.js';
import { MailStopController } from './notices/mail-stop.controller.js';
import { MailStore } from './notices/mail.store.js';
import { MembershipResolver } from './graphql/membership.resolver.js';
import { NoticeLiveResolver } from './notices/notice-live.resolver.js';
import { NoticeReadStore } from './notices/notice-read.store.js';
import { NoticeResolver } from './notices/notice.resolver.js';
import { NoticeStore } from './notices/notice.store.js';
import { OfficeResolver } from './clubs/office.resolver.js';
import { OfficeStore } from './clubs/office.store.js';
import { OpenAccount } from './app/open-account.js';
import { SetSharing } from './app/set-sharing.js';
import { SharingResolver } from './graphql/sharing.resolver.js';
import { SignIn } from './session/sign-in.js';
import { StopLinks } from './notices/stop-links.js';
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
    ClubListingResolver,
    ClubListingStore,
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
    KeeperResolver,
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
    SetClubListing,
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
