import { decide, type Decision, type KeeperRole, refuse } from '../../kernel/index.js';

/**
 * Whether a person may get another role with a keeper, or none (null), at the word of `by`: an owner has to remain, and so does
 * a guardian once a minor's keeper has one. Nobody but a guardian ends a guardian; nobody becomes one but by invitation.
 */
export function changeRole(
  roles: ReadonlyMap<string, KeeperRole>,
  accountId: string,
  next: Exclude<KeeperRole, 'guardian'> | null,
  by: KeeperRole | undefined,
): Decision<{ readonly changed: boolean }> {
  const present = roles.get(accountId) ?? null;
  if (present === 'guardian') {
    if (by !== 'guardian') return refuse('GUARDIAN_DECIDES', 'Only a guardian invites another guardian, or ends one.');
    const others = [...roles].filter(([id, role]) => role === 'guardian' && id !== accountId).length;
    if (others === 0)
      return refuse('LAST_GUARDIAN', 'This is the last guardian of the keeper. Let another one accept first.');
  }
  const otherOwners = [...roles].filter(([id, role]) => role === 'owner' && id !== accountId).length;
  if (present === 'owner' && next !== 'owner' && otherOwners === 0)
    return refuse('LAST_OWNER', 'This is the last owner of the keeper. Make another person an owner first.');
  return decide({ changed: present !== next });
}
