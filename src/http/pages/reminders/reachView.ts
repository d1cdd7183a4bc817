import type { Reached, Way } from '../../../clinic/reminding/reach.js';
import { dayInWords } from '../../../text/dates.js';
import type { HttpResources } from '../../server/resources.js';

/**
 * The contacts, and what is missing for each.
 *
 * @param typed a number that was refused, with its owner
 */
export function reachView(
  people: readonly Reached[],
  { words, channelNames }: Pick<HttpResources, 'words' | 'channelNames'>,
  zone: string,
  typed: { caregiverId: string | null; to: string } | null,
): object {
  const wayView = ({ contactId, channel, address, sinceMs }: Way) => ({
    contactId,
    over: words.channels[channel],
    address,
    isFromRecord: contactId === null,
    since: sinceMs === null ? null : dayInWords(sinceMs, zone),
    isPossible: channelNames.has(channel),
    lacksMail: channel === 'mail' && !channelNames.has('mail'),
    lacksText: channel === 'text' && !channelNames.has('text'),
  });
  return {
    sendsText: channelNames.has('text'),
    people: people.map((person) => {
      const { caregiverId, name, isReminded, toldNotBegun, toldOfWarnings, hasLink, ways, ended } = person;
      return {
        caregiverId,
        isPatient: caregiverId === null,
        name,
        lacksConsent: !isReminded && !toldNotBegun,
        lacksReminder: !isReminded && toldNotBegun,
        lacksNotBegun: caregiverId !== null && isReminded && !toldNotBegun,
        lacksWay: ways.length === 0,
        lacksWarningWay: toldOfWarnings && ways.length === 0,
        lacksLink: !hasLink,
        typedTo: typed?.caregiverId === caregiverId ? typed.to : '',
        ways: ways.map(wayView),
        ended: ended.map((way) => ({
          ...wayView(way),
          why: words.contactEnds[way.endedWhy ?? 'removed'],
          on: dayInWords(way.endedAtMs, zone),
          mayBegin: way.mayBegin,
        })),
      };
    }),
  };
}
