export { AccountStore } from './account.store.js';
export { type Club, type Keeper } from './keeper.js';
export { MembershipModule } from './membership.module.js';
export { type NewNotice, type Notice, type NoticeKey, NoticeStore } from './notice.store.js';
export { OpenAccount, openAccountCommand } from './open-account.js';
export { Viewers } from './viewers.js';
