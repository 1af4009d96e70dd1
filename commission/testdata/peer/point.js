// An independent charge point: boots, authorises, charges and obeys a limit, on
// a client library that refuses every message that breaks the published schema.
const { RPCClient, createValidator } = require('ocpp-rpc');

const [endpoint, identity, version, known, unknown] = process.argv.slice(2);
const now = () => new Date().toISOString();
const pause = ms => new Promise(done => setTimeout(done, ms));

// The library carries the schemas of 2.1 under the names of their own document and
// looks for them under those of the versions before.
const validators = version !== '2.1' ? [] : [createValidator('ocpp2.1', require('ocpp-rpc/lib/schemas/ocpp2_1.json')
  .map(s => ({ ...s, $id: s.$id.replace(/Request$/, '.req').replace(/Response$/, '.conf') })))];

async function main() {
  const is16 = version === '1.6';
  let amps = 32, stop = false, transaction;
  const client = new RPCClient({ endpoint, identity, protocols: ['ocpp' + version], strictMode: true, strictModeValidators: validators, reconnect: false });
  client.on('strictValidationFailure', e => { console.error('schema:', e.error.message); process.exit(4); });
  client.handle('SetChargingProfile', ({ params }) => {
    const profile = is16 ? params.csChargingProfiles : params.chargingProfile;
    const schedule = is16 ? profile.chargingSchedule : profile.chargingSchedule[0];
    amps = schedule.chargingSchedulePeriod[0].limit;
    return { status: 'Accepted' };
  });
  client.handle(is16 ? 'RemoteStopTransaction' : 'RequestStopTransaction', () => { stop = true; return { status: 'Accepted' }; });
  client.handle('TriggerMessage', () => ({ status: 'NotImplemented' }));
  await client.connect();
  let answer;
  if (is16) {
    answer = await client.call('BootNotification', { chargePointVendor: 'Invented', chargePointModel: 'Independent', chargePointSerialNumber: 'INDEPENDENT-1', firmwareVersion: '1' });
  } else {
    answer = await client.call('BootNotification', { reason: 'PowerUp', chargingStation: { vendorName: 'Invented', model: 'Independent', serialNumber: 'INDEPENDENT-1', firmwareVersion: '1' } });
  }
  if (answer.status !== 'Accepted') throw new Error('boot: ' + answer.status);
  const ask = async token => is16
    ? (await client.call('Authorize', { idTag: token })).idTagInfo.status
    : (await client.call('Authorize', { idToken: { idToken: token, type: 'Central' } })).idTokenInfo.status;
  if (await ask(unknown) === 'Accepted') throw new Error('an unknown card was allowed');
  if (await ask(known) !== 'Accepted') throw new Error('the known card was refused');
  let sequel = 0;
  const event = (eventType, triggerReason, more) => client.call('TransactionEvent', { eventType, timestamp: now(), triggerReason, seqNo: sequel++, transactionInfo: { transactionId: 'independent-1', ...more.info }, evse: { id: 1, connectorId: 1 }, ...more.rest });
  const current = () => is16
    ? [{ timestamp: now(), sampledValue: [{ value: String(amps), measurand: 'Current.Import', phase: 'L1', unit: 'A' }] }]
    : [{ timestamp: now(), sampledValue: [{ value: amps, measurand: 'Current.Import', phase: 'L1' }] }];
  if (is16) {
    answer = await client.call('StartTransaction', { connectorId: 1, idTag: known, meterStart: 0, timestamp: now() });
    transaction = answer.transactionId;
  } else {
    await event('Started', 'Authorized', { info: { chargingState: 'Charging' }, rest: { idToken: { idToken: known, type: 'Central' } } });
  }
  for (let n = 0; n < 400 && !stop; n++) {
    if (is16) await client.call('MeterValues', { connectorId: 1, transactionId: transaction, meterValue: current() });
    else await event('Updated', 'MeterValuePeriodic', { info: { chargingState: 'Charging' }, rest: { meterValue: current() } });
    await pause(20);
  }
  if (is16) await client.call('StopTransaction', { transactionId: transaction, meterStop: 100, timestamp: now(), reason: 'Remote' });
  else await event('Ended', 'RemoteStop', { info: { stoppedReason: 'Remote' }, rest: {} });
  await client.close();
}

main().then(() => process.exit(0), e => { console.error(e); process.exit(3); });
