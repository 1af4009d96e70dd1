package ocpp

import (
	"strconv"
	"time"
)

// What each version calls the same thing.

// settings of each version; those of 2.0.1 are Component.Variable.
//
//	source  OCPP 1.6 section 9; OCPP 2.0.1 Part 2 appendices; phase rotation of
//	        2.0.1 from memory
var names = map[Version]map[SettingName]string{
	V16: {
		RateUnit:    "ChargingScheduleAllowedChargingRateUnit",
		SampleEvery: "MeterValueSampleInterval", SampleWhat: "MeterValuesSampledData", AskRemote: "AuthorizeRemoteTxRequests",
		FreeOffline: "AllowOfflineTxForUnknownId", KnownOffline: "LocalAuthorizeOffline", StopOnInvalid: "StopTransactionOnInvalidId",
		StopUnplugged: "StopTransactionOnEVSideDisconnect", BeatEvery: "HeartbeatInterval", PhaseRotation: "ConnectorPhaseRotation",
		ListEnabled: "LocalAuthListEnabled", PlugInTime: "ConnectionTimeOut", OutletCount: "NumberOfConnectors",
		PingEvery: "WebSocketPingInterval", FeatureProfile: "SupportedFeatureProfiles",
	},
	V201: names201, V21: names201,
}

var names201 = map[SettingName]string{
	RateUnit:    "SmartChargingCtrlr.RateUnit",
	SampleEvery: "SampledDataCtrlr.TxUpdatedInterval", SampleWhat: "SampledDataCtrlr.TxUpdatedMeasurands", AskRemote: "AuthCtrlr.AuthorizeRemoteStart",
	FreeOffline: "AuthCtrlr.OfflineTxForUnknownIdEnabled", KnownOffline: "AuthCtrlr.LocalAuthorizeOffline", StopOnInvalid: "TxCtrlr.StopTxOnInvalidId",
	StopUnplugged: "TxCtrlr.StopTxOnEVSideDisconnect", BeatEvery: "OCPPCommCtrlr.HeartbeatInterval", PhaseRotation: "Connector.PhaseRotation",
	ListEnabled: "LocalAuthListCtrlr.Enabled", PlugInTime: "TxCtrlr.EVConnectionTimeOut", PingEvery: "OCPPCommCtrlr.WebSocketPingInterval",
}

// purposes of a limit.
var purposes = map[Version]map[Purpose]string{
	V16:  {WholePoint: "ChargePointMaxProfile", AnySession: "TxDefaultProfile", OneSession: "TxProfile"},
	V201: purposes201, V21: purposes201,
}

var purposes201 = map[Purpose]string{WholePoint: "ChargingStationMaxProfile", AnySession: "TxDefaultProfile", OneSession: "TxProfile"}

// Name returns what the version calls a setting; empty if it has none.
func (v Version) Name(of SettingName) string { return names[v][of] }

// Purpose returns what the version means by its word for a limit.
func (v Version) Purpose(word string) Purpose {
	for p, n := range purposes[v] {
		if n == word {
			return p
		}
	}
	return NoPurpose
}

// Value is what is wanted of a setting as the version writes it: in 1.6 the
// rotation of outlet 1 is "1.STR", where its L1 stands on the supply's L2 (R, S,
// T are L1, L2, L3).
func (v Version) Value(of SettingName, wanted string) string {
	if v == V16 && of == PhaseRotation {
		return "0.RST,1." + wanted
	}
	return wanted
}

// MeterValues are what was sampled at one moment, as the version sends it.
func (v Version) MeterValues(at time.Time, context string, sampled []Measured) any {
	if v == V16 {
		one := meterValue16{Timestamp: WriteTime(at)}
		for _, m := range sampled {
			one.Sampled = append(one.Sampled, sampled16{Value: m.Value, Context: context, Measurand: m.Measurand, Phase: m.Phase, Unit: m.Unit})
		}
		return []meterValue16{one}
	}
	one := meterValue201{Timestamp: WriteTime(at)}
	for _, m := range sampled {
		n, _ := strconv.ParseFloat(m.Value, 64)
		one.Sampled = append(one.Sampled, sampled201{Value: n, Context: context, Measurand: m.Measurand, Phase: m.Phase, Unit: &unit201{Unit: m.Unit}})
	}
	return []meterValue201{one}
}
