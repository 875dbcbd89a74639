export { AccountStore } from './store/account.store.js';
export { appoint } from './app/appoint-coordinator.js';
export { type Club, type Keeper } from './core/keeper.core.js';
export { type Mail, MailStore } from './store/mail.store.js';
export { MembershipModule } from './membership.module.js';
export { type NewNotice, type Notice, type NoticeKey, NoticeStore } from './store/notice.store.js';
export { OfficeStore, type OfficeTerm } from './store/office.store.js';
export { OpenAccount, openAccountCommand } from './app/open-account.js';
export { Viewers } from './session/viewers.js';
