import { decide, type Decision, type KeeperRole, refuse } from '../../kernel/index.js';

/** Whether a person may get another role with a keeper, or none (null): an owner has to remain. */
export function changeRole(
  roles: ReadonlyMap<string, KeeperRole>,
  accountId: string,
  next: KeeperRole | null,
): Decision<{ readonly changed: boolean }> {
  const present = roles.get(accountId) ?? null;
  const otherOwners = [...roles].filter(([id, role]) => role === 'owner' && id !== accountId).length;
  if (present === 'owner' && next !== 'owner' && otherOwners === 0)
    return refuse('LAST_OWNER', 'This is the last owner of the keeper. Make another person an owner first.');
  return decide({ changed: present !== next });
}
