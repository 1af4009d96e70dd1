package commission

import (
	"strconv"
	"strings"
	"time"
)

// What each version calls the same thing.

// settings of each version; those of 2.0.1 are Component.Variable.
//
//	source  OCPP 1.6 section 9; OCPP 2.0.1 Part 2 appendices; phase rotation of
//	        2.0.1 from memory
var names = map[Version]map[settingName]string{
	V16: {
		sampleEvery: "MeterValueSampleInterval", sampleWhat: "MeterValuesSampledData", askRemote: "AuthorizeRemoteTxRequests",
		freeOffline: "AllowOfflineTxForUnknownId", knownOffline: "LocalAuthorizeOffline", stopOnInvalid: "StopTransactionOnInvalidId",
		stopUnplugged: "StopTransactionOnEVSideDisconnect", beatEvery: "HeartbeatInterval", phaseRotation: "ConnectorPhaseRotation",
		listEnabled: "LocalAuthListEnabled", plugInTime: "ConnectionTimeOut", outletCount: "NumberOfConnectors",
		pingEvery: "WebSocketPingInterval", featureProfile: "SupportedFeatureProfiles",
	},
	V201: {
		sampleEvery: "SampledDataCtrlr.TxUpdatedInterval", sampleWhat: "SampledDataCtrlr.TxUpdatedMeasurands", askRemote: "AuthCtrlr.AuthorizeRemoteStart",
		freeOffline: "AuthCtrlr.OfflineTxForUnknownIdEnabled", knownOffline: "AuthCtrlr.LocalAuthorizeOffline", stopOnInvalid: "TxCtrlr.StopTxOnInvalidId",
		stopUnplugged: "TxCtrlr.StopTxOnEVSideDisconnect", beatEvery: "OCPPCommCtrlr.HeartbeatInterval", phaseRotation: "Connector.PhaseRotation",
		listEnabled: "LocalAuthListCtrlr.Enabled", plugInTime: "TxCtrlr.EVConnectionTimeOut", pingEvery: "OCPPCommCtrlr.WebSocketPingInterval",
	},
}

// purposes of a limit.
var purposes = map[Version]map[Purpose]string{
	V16:  {WholePoint: "ChargePointMaxProfile", AnySession: "TxDefaultProfile", OneSession: "TxProfile"},
	V201: {WholePoint: "ChargingStationMaxProfile", AnySession: "TxDefaultProfile", OneSession: "TxProfile"},
}

// name returns what the version calls a setting; empty if it has none.
func (v Version) name(of settingName) string { return names[v][of] }

// purpose returns what the version means by its word for a limit.
func (v Version) purpose(word string) Purpose {
	for p, n := range purposes[v] {
		if n == word {
			return p
		}
	}
	return noPurpose
}

// rotation16 is the value of the phase rotation setting for outlet 1, and
// rotationOf reads it back: "1.STR" says that the outlet's L1 stands on the
// supply's L2 (R, S, T are L1, L2, L3).
func rotation16(r string) string { return "0.RST,1." + r }

func rotationOf(value string) string {
	for _, part := range strings.Split(value, ",") {
		outlet, r, found := strings.Cut(strings.TrimSpace(part), ".")
		if found && outlet == "1" {
			return strings.ToUpper(r)
		}
		if !found && !strings.Contains(value, ".") {
			return strings.ToUpper(outlet)
		}
	}
	return ""
}

// meterValues are what was sampled at one moment, as the version sends it.
func (v Version) meterValues(at time.Time, context string, sampled []measured) any {
	if v == V16 {
		one := meterValue16{Timestamp: writeTime(at)}
		for _, m := range sampled {
			one.Sampled = append(one.Sampled, sampled16{Value: m.value, Context: context, Measurand: m.measurand, Phase: m.phase, Unit: m.unit})
		}
		return []meterValue16{one}
	}
	one := meterValue201{Timestamp: writeTime(at)}
	for _, m := range sampled {
		n, _ := strconv.ParseFloat(m.value, 64)
		one.Sampled = append(one.Sampled, sampled201{Value: n, Context: context, Measurand: m.measurand, Phase: m.phase, Unit: &unit201{Unit: m.unit}})
	}
	return []meterValue201{one}
}
