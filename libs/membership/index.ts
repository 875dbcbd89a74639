export { AccountStore } from './account.store.js';
export { appoint } from './appoint-coordinator.js';
export { type Club, type Keeper } from './keeper.js';
export { type Mail, MailStore } from './mail.store.js';
export { MembershipModule } from './membership.module.js';
export { type NewNotice, type Notice, type NoticeKey, NoticeStore } from './notice.store.js';
export { OfficeStore, type OfficeTerm } from './office.store.js';
export { OpenAccount, openAccountCommand } from './open-account.js';
export { Viewers } from './viewers.js';
